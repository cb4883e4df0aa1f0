"""A band with one row of everything that an address can name, and a former season beside it."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.imports.models import ImportBatch, ImportUpload
from bandops.lib.outbox.models import Artifact
from drill.enums import AbsenceKind, TravelRole, TravelState
from drill.models import (
    Absence,
    Attendance,
    CalendarFeed,
    Clash,
    Contest,
    ContestCriterion,
    ContestMark,
    ContestRound,
    Cover,
    CoverPlan,
    CustomField,
    DayChange,
    EvaluationSequence,
    Event,
    Fundamental,
    Lesson,
    Lineup,
    Notice,
    Pin,
    PracticeEntry,
    ProtectedSpot,
    RehearsalBlock,
    Segment,
    Show,
    ShowVersion,
    StepLimit,
    Traveller,
    TravelList,
    Turn,
    TurnBook,
)
from drill.services.absences import Report, report_absence
from drill.services.calls import call_group
from drill.services.lineups import open_draft
from drill.services.publishing import group_of, publish_lineup
from drill.services.travel import request_prints
from roster.enums import Role
from roster.models import Instrument, Member, Part, Person, Rank, RoleGrant, Season, Spot
from tests.architecture.many import add_drill, write_lineup
from tests.factories import Band, Cast, make_band, make_cast

BACKEND = "django.contrib.auth.backends.ModelBackend"
ROLES = (
    "director",
    "staff",
    "gear",
    "evaluator",
    "leader",
    "member",
    "other",
    "outsider",
    "visitor",
)
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
    cover: Cover
    feed: CalendarFeed
    grant: RoleGrant
    upload: ImportUpload
    batch: ImportBatch
    change: DayChange
    clash: Clash
    block: RehearsalBlock
    entry: PracticeEntry
    call: Artifact
    contest: Contest
    criterion: ContestCriterion
    protection: ProtectedSpot
    turn: Turn
    custom_field: CustomField
    version: ShowVersion
    limit: StepLimit
    drilled: ShowVersion
    sequence: EvaluationSequence
    fundamental: Fundamental

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
    def place_pk(self) -> int:
        return self.drilled.show.places.earliest("pk").pk

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
    lineup = publish(band, actor)
    absence = report_absence(
        actor=reporter,
        report=Report(band.members["Cai Ørnberg"], {"kind": AbsenceKind.OUT, "event": band.event}),
        by_staff=False,
    )
    artifact = make_file("lineup", group_of(lineup))
    block = make_rehearsal(band, actor)
    open_draft(actor=actor, event=band.event)
    post_travel_list(band, actor)
    return World(
        band,
        lineup,
        absence,
        Notice.objects.filter(lineup=lineup).earliest("pk"),
        artifact,
        Pin.objects.create(
            event=band.event, spot=band.spots["2-1"], member=band.members["Fay Ashgrove"]
        ),
        Cover.objects.create(spot=band.spots["1-3"], member=band.members["Jon Pell"], order=1),
        CalendarFeed.objects.create(user=actor),
        RoleGrant.objects.create(
            user=User.objects.create_user(f"ex{band.season.pk}@staff.example", "Ex"),
            season=band.season,
            role=Role.EVALUATOR,
        ),
        ImportUpload.objects.create(
            kind="members",
            filename="members.csv",
            content=MEMBERS_CSV.encode(),
            mapping={"legal_name": 0, "main_part": 1},
            by=actor,
        ),
        ImportBatch.objects.create(
            kind="members", filename="members.csv", batch=f"batch {band.season.pk}", by=actor
        ),
        DayChange.objects.create(
            event=band.event,
            before=lineup,
            after=lineup,
            member_out=band.members["Cai Ørnberg"],
            made_by=actor,
        ),
        Clash.objects.create(
            event=band.event,
            key=uuid.uuid4(),
            spot=band.spots["1-3"],
            standing=band.members["Cai Ørnberg"],
            wanted=band.members["Jon Pell"],
            wanted_by=actor,
            wanted_at=timezone.now(),
        ),
        block,
        block.event.practice_log.get(),
        make_file("call", call_group(block.event)),
        *make_contest(band, actor),
        make_turn(band, actor, "Long past", 3),
        CustomField.objects.create(
            season=band.season, name="Old arena", front_hash=20_000, back_hash=40_000
        ),
        make_version(band),
        StepLimit.objects.create(
            season=band.season, instrument=band.parts["sousaphone"].instrument, largest_step=960
        ),
        add_drill(Show.objects.create(season=band.season, name="Paper Kites"), LABELS),
        EvaluationSequence.objects.create(
            season=band.season,
            label="First day",
            seed=1,
            counts=8,
            square=16,
            codes=["forward", "to-the-rear"],
            moves=[[["forward", 4], ["to-the-rear", 4]]],
            made_by=actor,
        ),
        Fundamental.objects.create(
            season=band.season,
            code=f"hop-{band.season.pk}",
            name="hop",
            definition={"code": f"hop-{band.season.pk}", "name": "hop", "counts": 1},
        ),
    )


def make_version(band: Band) -> ShowVersion:
    """A show of its own, of two sets, with a step that is too large and two who come close."""
    show = Show.objects.create(season=band.season, name="Lanternwalk")
    made = add_drill(show, ["1-1", "1-2", "1-3"], apart=360, shift=20000)
    ShowVersion.objects.create(show=show, label="emptied", order=2)
    return made


def make_turn(band: Band, actor: User, name: str, day: int) -> Turn:
    """A performance of long ago with its turn book; the turn is Cai's, corrected once."""
    past = Event.objects.create(
        season=band.season, name=name, date=datetime.date(2020, 10, day), time_zone="UTC"
    )
    segment = Segment.objects.create(
        event=past, order=1, name="Halftime", kind="halftime", starts="16:00", ends="16:20"
    )
    book = TurnBook.objects.create(
        event=past, lineup=write_lineup(past, actor, 1), confirmed_by=actor
    )
    spot = band.spots["1-3"]
    return Turn.objects.create(
        book=book,
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
        plan=CoverPlan.objects.create(event=band.event), member=jon, spot=band.spots["1-2"]
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


def make_contest(band: Band, actor: User) -> tuple[Contest, ContestCriterion, ProtectedSpot]:
    """A round that is being held, with one contest, marked once; a round that is open."""
    long_ago = datetime.datetime(2020, 10, 1, 17, tzinfo=datetime.UTC)
    moments = {"Held": (long_ago, long_ago), "Open": (band_day(band, -9), band_day(band, -8))}
    held, _ = (
        ContestRound.objects.create(
            season=band.season,
            name=name,
            opens_at=long_ago - datetime.timedelta(days=2),
            closes_at=closes,
            held_at=held,
            effective=band.event,
        )
        for name, (closes, held) in moments.items()
    )
    criterion = ContestCriterion.objects.create(season=band.season, name="Marching")
    contest = Contest.objects.create(
        round=held,
        spot=band.spots["1-3"],
        challenger=band.members["Ida Voss"],
        holder=band.members["Cai Ørnberg"],
    )
    ContestMark.objects.create(
        contest=contest, evaluator=actor, criterion=criterion, side="A", value=8
    )
    return contest, criterion, ProtectedSpot.objects.create(spot=band.spots["1-1"])


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


def arguments(world: World) -> dict[str, tuple[Any, ...]]:
    """The arguments of every address that takes some, by its name."""
    event, seat = world.event.pk, (world.event.pk, world.segment.pk, world.spot.pk)
    by_row: tuple[tuple[int | str, str], ...] = (
        (
            world.member.pk,
            "member member-edit member-standing member-place member-status "
            "member-emergency member-absences member-release",
        ),
        (world.rank.pk, "rank rank-edit spot-new"),
        (world.spot.pk, "spot spot-covers"),
        (world.cover.pk, "cover"),
        (world.instrument.pk, "instrument-edit"),
        (world.part.pk, "part-edit part-remove"),
        (world.grant.pk, "role-revoke"),
        (world.upload.pk, "import-review"),
        (world.batch.pk, "import-undo"),
        (
            event,
            "week-of lineup proposal mark-out publish event event-edit event-copy event-remove "
            "must-travel card-of api-lineup by-hand desk-of desk-fill travel travel-change "
            "covers-of plan plan-progress lesson-add event-texts event-drill",
        ),
        (world.lineup.pk, "revision revision-progress revision-prints notices-now revision-again"),
        (world.notice.pk, "notice-told notice-confirm"),
        (world.change.pk, "desk-change desk-undo"),
        (world.lesson_pk, "lesson"),
        (world.clash.pk, "desk-clash"),
        (world.artifact.pk, "file"),
        (world.absence.pk, "absence-decide absence-withdraw"),
        (world.segment.pk, "segment segment-remove"),
        (world.show.pk, "show show-place show-edit show-words show-words-keep"),
        (world.custom_field.pk, "custom-field custom-field-remove"),
        (
            world.rehearsal.pk,
            "block-new attendance attendance-note attendance-rest practice call call-progress",
        ),
        (world.block.pk, "block block-remove"),
        (world.entry.pk, "practice-remove"),
        (world.contest.round_id, "round round-edit"),
        (
            world.contest.pk,
            "contest-marks contest-decide contest-take-back contest-effect contest-call-off",
        ),
        (world.criterion.pk, "contest-criterion contest-criterion-remove"),
        (world.protection.pk, "protection-lift"),
        (world.version.pk, "version-checks motion"),
        (world.version.show_id, "versions-compare"),
        (world.limit.pk, "step-limit step-limit-remove"),
        (
            world.fundamental.code,
            "fundamental fundamental-edit fundamental-remove fundamental-passed",
        ),
        (world.sequence.pk, "sequence sequence-remove"),
        ("letter", "study-sheet-file"),
        (world.turn.pk, "turn"),
        (world.drilled.show_id, "versions places"),
        (world.drilled.pk, "sets version-use"),
        (world.set_pk, "set set-move set-remove set-positions"),
        (world.place_pk, "place-edit place-remove"),
        (world.turn.book.event_id, "turns-of"),
    )
    found: dict[str, tuple[Any, ...]] = {}
    for pk, names in by_row:
        found |= dict.fromkeys(names.split(), (pk,))
    return found | {
        "link": ("sign-in", "not-a-token"),
        "sequence-file": (world.sequence.pk, "letter"),
        "calendar-feed": (world.feed.token,),
        "alternates-reorder": (world.rank.pk, world.part.pk),
        "import-upload": ("members",),
        "export": ("members", "csv"),
        "lift-order": (event, "pin", world.pin.pk),
        "place-positions": (world.drilled.pk, world.place_pk),
        "seat": seat,
        "place": seat,
        "order": seat,
        "code": (world.lineup.code,),
        "close-up": seat,
        "cut-show": (event, world.show.pk),
        "drill-undo": (event, world.show.pk),
        "desk-out": (event, world.member.pk),
        "slip": (world.lineup.pk, world.member.pk),
        "set-sheet": (world.drilled.show_id, world.spot.pk),
        "set-sheet-print": (world.drilled.show_id, world.spot.pk),
        "set-sheets-of-rank": (world.drilled.show_id, world.rank.pk),
        "relearn": (event, world.spot.pk, world.member.pk),
        "call-file": (world.rehearsal.pk, world.call.pk),
        "call-of-rank": (world.rehearsal.pk, world.rank.pk),
    }


def url_of(name: str, world: World) -> str:
    """The address by its name, about the world's rows."""
    return reverse(name, args=arguments(world).get(name, ()))


def all_names(patterns: Any = None) -> list[str]:
    """The name of every address the site answers to."""
    found: list[str] = []
    for pattern in patterns or get_resolver().url_patterns:
        if isinstance(pattern, URLResolver):
            found += all_names(pattern.url_patterns)
        elif isinstance(pattern, URLPattern):
            assert pattern.name, f"{pattern} has no name"
            found.append(pattern.name)
    return found


def client_of(cast: Cast, role: str, **options: Any) -> Client:
    """A client signed in in a role."""
    client = Client(**options)
    user = cast.named(role)
    if user is not None:
        client.force_login(user, backend=BACKEND)
    return client


@contextmanager
def undone() -> Iterator[None]:
    """Whatever is written inside is taken back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
