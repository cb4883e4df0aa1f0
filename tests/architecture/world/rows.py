"""The rows of a world that take more than a line to make."""

from __future__ import annotations

import datetime

from django.core.files.base import ContentFile
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.outbox.models import Artifact
from drill.backups.models import BackupPlan, Lesson
from drill.challenges.models import (
    Challenge,
    ChallengeCriterion,
    ChallengeMark,
    ChallengeRound,
    ProtectedSpot,
)
from drill.events.enums import TravelRole, TravelState
from drill.events.models import Event, Segment, Traveller, TravelList
from drill.learning.services.sheet_jobs import SheetFile
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from drill.record.models import MarchingRecord, RecordEntry
from drill.rehearsals.models import Attendance, PracticeEntry, RehearsalBlock
from drill.shows.models import Show, ShowVersion
from drill.travel.services.travel import request_prints
from roster.people.models import Season
from roster.ranks.models import Rank
from tests.architecture.many import add_drill, write_lineup
from tests.factories import Band


def make_earlier_event(band: Band) -> Event:
    """A game of a season before, with nothing but its segments."""
    day = datetime.date(2019, 10, 5)
    before = Season.objects.create(
        name=f"Before {band.season.pk}", band_name="Before", starts=day, ends=day
    )
    event = Event.objects.create(season=before, name="Seasons ago", date=day, time_zone="UTC")
    times = {"starts": datetime.time(14), "ends": datetime.time(15)}
    Segment.objects.create(event=event, order=1, name="Halftime", kind="halftime", **times)
    return event


def make_version(band: Band) -> ShowVersion:
    """A show of its own, of two sets, with a step that is too large and two who come close."""
    show = Show.objects.create(season=band.season, name="Lanternwalk")
    made = add_drill(show, ["1-1", "1-2", "1-3"], apart=360, shift=20000)
    ShowVersion.objects.create(show=show, label="emptied", order=2)
    return made


def make_record_entry(band: Band, actor: User, name: str, day: int) -> RecordEntry:
    """A performance of long ago with its marching record; the entry is Cai's, corrected once."""
    past = Event.objects.create(
        season=band.season, name=name, date=datetime.date(2020, 10, day), time_zone="UTC"
    )
    segment = Segment.objects.create(
        event=past, order=1, name="Halftime", kind="halftime", starts="16:00", ends="16:20"
    )
    record = MarchingRecord.objects.create(
        event=past, lineup=write_lineup(past, actor, 1), confirmed_by=actor
    )
    spot = band.spots["1-3"]
    return RecordEntry.objects.create(
        record=record,
        segment=segment,
        member=band.members["Cai Ørnberg"],
        outcome="marched",
        spot=spot,
        first_outcome="stood by",
        corrected_by=actor,
        corrected_at=band_day(band, 0),
        note="stood in for nobody",
    )


def make_file(name: str, group: str) -> Artifact:
    made = Artifact(key=f"{name} {group}", group=group, title=name.title(), size=3)
    made.filename, made.content_type = f"{name}.pdf", "application/pdf"
    made.file.save(f"{name}.pdf", ContentFile(b"pdf"))
    return made


def make_sheets_file(show: Show, rank: Rank) -> Artifact:
    """A rank's set sheets."""
    made = make_file("sheets", f"sheets of season {rank.season_id}")
    made.key = SheetFile(show.pk, rank.pk, "asked").key
    made.save()
    return made


def make_rehearsal(band: Band, actor: User) -> RehearsalBlock:
    """A rehearsal two days before the game: a block, a note, a lesson, an entry of the log."""
    day = band.event.date - datetime.timedelta(days=2)
    rehearsal = Event.objects.create(
        season=band.season,
        name="Rehearsal Thursday",
        kind="rehearsal",
        date=day,
        time_zone="America/Chicago",
        venue="Mill Lane practice field",
    )
    show, jon = Show.objects.get(season=band.season, name="Tidewheel"), band.members["Jon Pell"]
    Lesson.objects.create(
        plan=BackupPlan.objects.create(event=band.event), member=jon, spot=band.spots["1-2"]
    )
    noted = {"event": rehearsal, "noted_by": actor, "noted_at": rehearsal.local(datetime.time(17))}
    Attendance.objects.create(member=band.members["Dee Quill"], state="absent", **noted)
    entry = PracticeEntry.objects.create(member=jon, spot=band.spots["1-3"], show=show, **noted)
    version = ShowVersion.objects.create(show=show, label="as practised", order=0)
    entry.sets.add(version.sets.create(order=1, label="1", counts=8))
    return RehearsalBlock.objects.create(
        event=rehearsal,
        starts=datetime.time(16, 30),
        ends=datetime.time(18),
        what="Halftime in full",
        show=show,
    )


def post_travel_list(band: Band, actor: User) -> TravelList:
    """Everybody goes, and the list is printed."""
    made = TravelList.objects.create(
        event=band.event, state=TravelState.POSTED, posted_at=timezone.now(), made_by=actor
    )
    Traveller.objects.bulk_create(
        Traveller(list=made, member=member, role=TravelRole.MARCHES)
        for member in band.members.values()
    )
    request_prints(actor=actor, event=band.event, paper="letter")
    return made


def make_challenge(band: Band, actor: User) -> tuple[Challenge, ChallengeCriterion, ProtectedSpot]:
    """A round that is being held, with one challenge, marked once; a round that is open."""
    long_ago = datetime.datetime(2020, 10, 1, 17, tzinfo=datetime.UTC)
    moments = {"Held": (long_ago, long_ago), "Open": (band_day(band, -9), band_day(band, -8))}
    held, _ = (
        ChallengeRound.objects.create(
            season=band.season,
            name=name,
            opens_at=long_ago - datetime.timedelta(days=2),
            closes_at=closes,
            held_at=held,
            effective=band.event,
        )
        for name, (closes, held) in moments.items()
    )
    criterion = ChallengeCriterion.objects.create(season=band.season, name="Marching")
    challenge = Challenge.objects.create(
        round=held,
        spot=band.spots["1-3"],
        challenger=band.members["Ida Voss"],
        holder=band.members["Cai Ørnberg"],
    )
    ChallengeMark.objects.create(
        challenge=challenge, evaluator=actor, criterion=criterion, side="A", value=8
    )
    return challenge, criterion, ProtectedSpot.objects.create(spot=band.spots["1-1"])


def band_day(band: Band, days: int) -> datetime.datetime:
    """So many days from the band's event, at noon."""
    noon = datetime.time(17, tzinfo=datetime.UTC)
    return datetime.datetime.combine(band.event.date, noon) + datetime.timedelta(days=days)


def publish(band: Band, actor: User, number: int | None = None) -> Lineup:
    """The event's next revision, from its draft."""
    draft = open_draft(actor=actor, event=band.event)
    return publish_lineup(
        actor=actor, event=band.event, seen_version=draft.version, seen_number=number
    )
