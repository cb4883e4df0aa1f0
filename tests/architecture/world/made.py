"""A band with one row of everything that an address can name, and a former season beside it."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.imports.models import ImportBatch, ImportUpload
from bandops.lib.outbox.models import Artifact
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.absences.services.absences import Report, report_absence
from drill.backups.models import Lesson
from drill.calendars.models import CalendarFeed
from drill.calls.services import call_group
from drill.challenges.models import Challenge, ChallengeCriterion, ProtectedSpot
from drill.events.models import Event, Segment
from drill.field.models import CustomField
from drill.fundamentals.models import Abbreviation, EvaluationSequence, Fundamental
from drill.gameday.models import Clash, DayChange, FillRequest
from drill.lineup.models import Backup, Lineup, Pin
from drill.lineup.services.drafts import open_draft
from drill.publishing.models import Notice
from drill.publishing.services.print_jobs import group_of
from drill.record.models import RecordEntry
from drill.rehearsals.models import PracticeEntry, RehearsalBlock
from drill.shows.models import Show, ShowVersion, StepLimit
from roster.music.models import Excerpt, SectionLeader
from roster.people.enums import Role
from roster.people.models import Deputy, Instrument, Member, Part, Person, RoleGrant, Season
from roster.ranks.models import Rank, Spot
from tests.architecture.many import add_drill
from tests.architecture.world.equipment import make_equipment
from tests.architecture.world.rows import (
    make_challenge,
    make_earlier_event,
    make_file,
    make_record_entry,
    make_rehearsal,
    make_sheets_file,
    make_version,
    post_travel_list,
    publish,
)
from tests.architecture.world.tryouts import make_music, make_tryout_rows
from tests.factories import Band, Cast, TryoutWorld, make_band, make_cast

LABELS = ["1-1", "1-2", "1-3"]
MEMBERS_CSV = "legal name,main part\nLou Fenwick,trumpet\n"


@dataclass(frozen=True)
class World:
    """One season with a row of each kind."""

    band: Band
    lineup: Lineup
    absence: Absence
    notice: Notice
    artifact: Artifact
    pin: Pin
    backup: Backup
    feed: CalendarFeed
    grant: RoleGrant
    upload: ImportUpload
    batch: ImportBatch
    change: DayChange
    clash: Clash
    asked: FillRequest
    deputy: Deputy
    block: RehearsalBlock
    entry: PracticeEntry
    call: Artifact
    sheets: Artifact
    challenge: Challenge
    criterion: ChallengeCriterion
    protection: ProtectedSpot
    record_entry: RecordEntry
    custom_field: CustomField
    version: ShowVersion
    limit: StepLimit
    drilled: ShowVersion
    sequence: EvaluationSequence
    fundamental: Fundamental
    abbreviation: Abbreviation
    tryout: TryoutWorld
    excerpt: Excerpt
    section_leader: SectionLeader
    earlier: Event

    @property
    def two_people(self) -> tuple[int, int]:
        """Two entries that nothing keeps from being merged."""
        members = self.band.members
        return members["Jon Pell"].person_id, members["Kit Moss"].person_id

    @property
    def event(self) -> Event:
        return self.band.event

    @property
    def lesson_pk(self) -> int:
        return Lesson.objects.filter(plan__event=self.event).earliest("pk").pk

    @property
    def set_pk(self) -> int:
        return self.drilled.sets.earliest("pk").pk

    @property
    def dot_pk(self) -> int:
        return self.drilled.show.dots.earliest("pk").pk

    @property
    def segment(self) -> Segment:
        return self.band.halftime

    @property
    def rehearsal(self) -> Event:
        return self.block.event

    @property
    def show(self) -> Show:
        return Show.objects.get(season=self.band.season, name="Tidewheel")

    @property
    def rank(self) -> Rank:
        return self.band.ranks["1"]

    @property
    def spot(self) -> Spot:
        return self.band.spots["1-3"]

    @property
    def member(self) -> Member:
        return self.band.members["Cai Ørnberg"]

    @property
    def part(self) -> Part:
        return self.band.parts["trumpet"]

    @property
    def instrument(self) -> Instrument:
        return self.part.instrument


def make_world(band: Band, actor: User, reporter: User) -> World:
    """The rows, published and reported by the actor and the reporter."""
    rows = _week(band, actor, reporter)
    rows |= _orders(band) | _of_the_day(band, actor, rows["lineup"])
    rows |= _accounts(band, actor)
    rows["challenge"], rows["criterion"], rows["protection"] = make_challenge(band, actor)
    rows["record_entry"] = make_record_entry(band, actor, "Long past", 3)
    rows["tryout"] = make_tryout_rows(band, actor)
    rows["excerpt"], rows["section_leader"] = make_music(band, actor)
    make_equipment(band, actor)
    rows["earlier"] = make_earlier_event(band)
    return World(band=band, **rows, **_drill(band, actor))


def _week(band: Band, actor: User, reporter: User) -> dict[str, Any]:
    """A published lineup with a print, a report, a rehearsal before it, a posted list."""
    lineup = publish(band, actor)
    report = Report(band.members["Cai Ørnberg"], {"kind": AbsenceKind.OUT, "event": band.event})
    absence = report_absence(actor=reporter, report=report, by_staff=False)
    artifact = make_file("lineup", group_of(lineup))
    block = make_rehearsal(band, actor)
    open_draft(actor=actor, event=band.event)
    post_travel_list(band, actor)
    return {
        "lineup": lineup,
        "absence": absence,
        "notice": Notice.objects.filter(lineup=lineup).earliest("pk"),
        "artifact": artifact,
        "block": block,
        "entry": block.event.practice_log.get(),
        "call": make_file("call", call_group(block.event)),
    }


def _orders(band: Band) -> dict[str, Any]:
    return {
        "pin": Pin.objects.create(
            event=band.event, spot=band.spots["2-1"], member=band.members["Fay Ashgrove"]
        ),
        "backup": Backup.objects.create(
            spot=band.spots["1-3"], member=band.members["Jon Pell"], order=1
        ),
    }


def _of_the_day(band: Band, actor: User, lineup: Lineup) -> dict[str, Any]:
    """What game day left: a change, a clash of two wishes, and a fill that was asked for."""
    cai = band.members["Cai Ørnberg"]
    change = DayChange.objects.create(
        event=band.event, before=lineup, after=lineup, member_out=cai, made_by=actor
    )
    clash = Clash.objects.create(
        event=band.event,
        key=uuid.uuid4(),
        spot=band.spots["1-3"],
        standing=cai,
        wanted=band.members["Jon Pell"],
        wanted_by=actor,
        wanted_at=timezone.now(),
    )
    asked = FillRequest.objects.create(
        event=band.event,
        key=uuid.uuid4(),
        form=f"out={cai.pk}&number=1",
        seats=[[band.halftime.pk, band.spots["1-3"].pk, cai.pk, None]],
        member_out=cai,
        asked_by=actor,
    )
    return {"change": change, "clash": clash, "asked": asked}


def _accounts(band: Band, actor: User) -> dict[str, Any]:
    former = User.objects.create_user(f"ex{band.season.pk}@staff.example", "Ex")
    return {
        "feed": CalendarFeed.objects.create(user=actor),
        "deputy": Deputy.objects.create(
            user=former,
            season=band.season,
            named_by=actor,
            starts=band.season.starts,
            ends=band.season.starts,
        ),
        "grant": RoleGrant.objects.create(user=former, season=band.season, role=Role.EVALUATOR),
        "upload": ImportUpload.objects.create(
            kind="members",
            filename="members.csv",
            content=MEMBERS_CSV.encode(),
            mapping={"legal_name": 0, "main_part": 1},
            by=actor,
        ),
        "batch": ImportBatch.objects.create(
            kind="members", filename="members.csv", batch=f"batch {band.season.pk}", by=actor
        ),
    }


def _drill(band: Band, actor: User) -> dict[str, Any]:
    kites = Show.objects.create(season=band.season, name="Paper Kites")
    hop = f"hop-{band.season.pk}"
    return {
        "custom_field": CustomField.objects.create(
            season=band.season, name="Old arena", front_hash=20_000, back_hash=40_000
        ),
        "version": make_version(band),
        "limit": StepLimit.objects.create(
            season=band.season, instrument=band.parts["sousaphone"].instrument, largest_step=960
        ),
        "drilled": add_drill(kites, LABELS),
        "sheets": make_sheets_file(kites, band.ranks["1"]),
        "sequence": EvaluationSequence.objects.create(
            season=band.season,
            label="First day",
            seed=1,
            counts=8,
            square=16,
            codes=["forward", "to-the-rear"],
            moves=[[["forward", 4], ["to-the-rear", 4]]],
            made_by=actor,
        ),
        "fundamental": Fundamental.objects.create(
            season=band.season,
            code=hop,
            name="hop",
            definition={"code": hop, "name": "hop", "counts": 1},
        ),
        "abbreviation": Abbreviation.objects.create(
            season=band.season, word="W8", said="w8", says="forward 8"
        ),
    }


def make_former_band() -> Band:
    """A whole band of a season that is over; make it before the current one."""
    band = make_band()
    Season.objects.filter(pk=band.season.pk).update(name="2098", is_current=False)
    Person.objects.update(student_number="")
    band.season.refresh_from_db()
    return band


def two_seasons() -> tuple[World, World, Cast]:
    """The current season, the former one, and the accounts of the current one."""
    past = make_former_band()
    past_staff = User.objects.create_user("past@staff.example", "Past Staff")
    former = make_world(past, past_staff, past_staff)
    Person.objects.update(email="")
    band = make_band()
    cast = make_cast(band)
    return make_world(band, cast.staff, cast.member), former, cast
