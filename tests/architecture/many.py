"""More rows of every kind, and bands as large as one likes, without a solver."""

from __future__ import annotations

import datetime

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.imports.models import ImportBatch
from drill.absences.enums import AbsenceKind, AbsenceState
from drill.absences.models import Absence
from drill.backups.models import BackupPlan, Lesson
from drill.challenges.models import (
    Challenge,
    ChallengeCriterion,
    ChallengeMark,
    ChallengeRound,
    ProtectedSpot,
)
from drill.events.enums import MARCHING
from drill.events.models import Event, Segment, TravelList
from drill.lineup.core.problem import Origin
from drill.lineup.enums import LineupState
from drill.lineup.models import Backup, Block, Lineup, LineupRow, OpenSeat
from drill.lineup.services.problem_builder import build
from drill.publishing.models import Notice
from drill.record.models import MarchingRecord, RecordEntry
from drill.rehearsals.models import Attendance, PracticeEntry, RehearsalBlock
from drill.shows.models import Dot, DotMap, DrillSet, Position, Show, ShowVersion, StepLimit
from roster.people.enums import Role
from roster.people.models import Member, Person, Qualification, RoleGrant, Season
from roster.ranks.models import Holding, Rank, Spot
from tests.factories import Band, Cast

DAY = datetime.timedelta(days=1)
A_RANK = 12


def add_rank(band: Band, spots: int = A_RANK) -> Rank:
    """One more rank of trumpets, every spot held; its first two lead it."""
    label = str(len(band.ranks) + 1)
    rank = Rank.objects.create(season=band.season, label=label, order=len(band.ranks) + 1)
    part = band.parts["trumpet"]
    people = Person.objects.bulk_create(
        _derived(Person(legal_name=f"Rank {label} Marcher {n}")) for n in range(spots)
    )
    members = Member.objects.bulk_create(
        Member(person=p, season=band.season, phone="555-0100") for p in people
    )
    Qualification.objects.bulk_create(
        Qualification(member=m, part=part, main=True) for m in members
    )
    made = Spot.objects.bulk_create(
        Spot(rank=rank, number=n, part=part) for n in range(1, spots + 1)
    )
    Holding.objects.bulk_create(
        Holding(spot=s, member=m, starts=band.season.starts)
        for s, m in zip(made, members, strict=True)
    )
    rank.leader, rank.assistant_leader = members[0], members[1]
    rank.save()
    band.ranks[label] = rank
    return rank


def _derived(person: Person) -> Person:
    person.derive()
    return person


def add_drill(
    show: Show, labels: list[str], sets: int = 2, apart: int = 720, shift: int = 0
) -> ShowVersion:
    """A version of the show with a position for every label in every set, ``apart`` from each
    other and ``shift`` further in each set."""
    version = ShowVersion.objects.create(show=show, label="1", order=1)
    pages = [
        DrillSet.objects.create(version=version, order=n, label=str(n), counts=8)
        for n in range(1, sets + 1)
    ]
    dots = [Dot.objects.get_or_create(show=show, label=label)[0] for label in labels]
    Position.objects.bulk_create(
        Position(set=page, dot=dot, x=apart * n + shift * page.order, y=720 * n)
        for page in pages
        for n, dot in enumerate(dots)
    )
    return version


def write_lineup(event: Event, actor: User, number: int | None) -> Lineup:
    """A lineup of all holders, a draft where there is no number; no solver has a say."""
    built = build(event)
    lineup = Lineup.objects.create(
        event=event,
        created_by=actor,
        facts_hash=built.facts_hash,
        problem_hash=built.problem_hash,
        stage="by hand",
        change_notice={"first": True, "changes": [], "holes": [], "ranks": []},
        show_versions={str(show): v.pk for show, v in built.versions.items()},
    )
    held = {h.spot_id: h.member_id for h in Holding.objects.filter(ends=None)}
    LineupRow.objects.bulk_create(
        LineupRow(
            lineup=lineup,
            segment=segment,
            spot=spot,
            member_id=held.get(spot.pk),
            origin=Origin.HOLDS if spot.pk in held else Origin.HOLE,
        )
        for segment in built.segments.values()
        if segment.kind in MARCHING
        for spot in built.spots.values()
    )
    if number is not None:
        lineup.number, lineup.state = number, LineupState.PUBLISHED
        lineup.published_by = actor
        lineup.published_at = datetime.datetime(2099, 9, 1, tzinfo=datetime.UTC)
        lineup.save()
    return lineup


def grow(band: Band, cast: Cast, lineup: Lineup) -> None:
    """Two more of everything a list can show."""
    ranks = [add_rank(band, 3) for _ in range(2)]
    part = band.parts["clarinet"]
    for turn, name in enumerate(("Lou Fenwick", "Mo Tarn"), 3):
        member = band.member(name, "trumpet", "clarinet", phone="555-0101")
        band.alternate("1", "trumpet", member, turn)
        Backup.objects.create(spot=band.spots["1-1"], member=member, order=turn)
        Block.objects.create(event=band.event, spot=band.spots["1-2"], member=member)
        OpenSeat.objects.create(event=band.event, spot=band.spots[f"1-{turn}"])
        band.event.must_travel.add(member)
        _absences(band, cast, member)
        Notice.objects.create(
            lineup=lineup, member=member, state="not reached", content={"changes": []}
        )
        band.spot("1", turn + 3, "clarinet", band.member(f"{name} Minor", "clarinet"))
        part.instrument.parts.create(
            season=band.season, name=f"Clarinet {turn}", code=f"clarinet-{turn}"
        )
        keep_word(band, name)
        add_games(band, cast, turn)
        _rehearse(band, cast, member, turn)
        _account(band, cast, turn)
        _challenges(band, cast, member, turn)
        add_records(band, cast, turn)
        _drill(band, turn)
        _before(band, turn)
        for found in TravelList.objects.filter(event=band.event):
            found.travellers.create(member=member, role="marches")
    _more_drill()
    Notice.objects.bulk_create(
        Notice(lineup=lineup, member=rank.leader, state="sent", content={"changes": []})
        for rank in ranks
        if rank.leader
    )


def _before(band: Band, turn: int) -> None:
    """An earlier season with a game."""
    day = band.season.starts - datetime.timedelta(days=400 * turn)
    season = Season.objects.create(name=f"Grown {turn}", band_name="Before", starts=day, ends=day)
    game = Event.objects.create(season=season, name="Game", date=day, time_zone="UTC")
    times = {"starts": datetime.time(14), "ends": datetime.time(15)}
    Segment.objects.create(event=game, order=1, name="Halftime", kind="halftime", **times)


def keep_word(band: Band, text: str) -> None:
    """A word of files that means a part."""
    band.season.kept_words.create(
        kind="part", text=text, key=text.lower(), value="trumpet", label="Trumpet"
    )


def _absences(band: Band, cast: Cast, member: Member) -> None:
    for about in (member, band.members["Cai Ørnberg"]):
        for state in (AbsenceState.REPORTED, AbsenceState.CONFIRMED):
            Absence.objects.create(
                member=about,
                event=band.event,
                segment=band.stands,
                kind=AbsenceKind.OUT,
                state=state,
                reported_by=cast.staff,
            )


def add_games(band: Band, cast: Cast, turn: int) -> Show:
    """Two games with a show of their own and published lineups, before and after the band's."""
    show = Show.objects.create(season=band.season, name=f"Show {turn}")
    for sign in (-30, 1):
        event = Event.objects.create(
            season=band.season,
            name=f"Game {turn}",
            date=band.event.date + sign * turn * DAY,
            time_zone=band.event.time_zone,
        )
        for order, hour in ((1, 14), (2, 16)):
            Segment.objects.create(
                event=event,
                order=order,
                name=f"Segment {order}",
                kind="halftime",
                show=show,
                starts=datetime.time(hour),
                ends=datetime.time(hour, 20),
            )
        write_lineup(event, cast.staff, 1)
    return show


def _more_drill() -> None:
    """More versions, sets and dots of every show that has some."""
    for version in list(ShowVersion.objects.filter(label="1")):
        ShowVersion.objects.create(show=version.show, label="more", order=50)
        dots = [Dot(show=version.show, label=f"x-{n}") for n in range(3)]
        Dot.objects.bulk_create(dots)
        for order in (50, 51):
            page = DrillSet.objects.create(version=version, order=order, label=f"x{order}")
            Position.objects.bulk_create(Position(set=page, dot=p, x=1, y=1) for p in dots)


def _rehearse(band: Band, cast: Cast, member: Member, turn: int) -> None:
    show = Show.objects.get(season=band.season, name=f"Show {turn}")
    add_drill(show, ["1-1"])
    for rehearsal in Event.objects.filter(season=band.season, kind="rehearsal"):
        at = {"noted_by": cast.staff, "noted_at": rehearsal.local(datetime.time(17, turn))}
        RehearsalBlock.objects.create(
            event=rehearsal,
            starts=datetime.time(10 + turn),
            ends=datetime.time(11 + turn),
            what=f"Block {turn}",
            show=show,
        )
        for about in (member, band.members["Ana Núñez"], band.members["Dee Quill"]):
            Attendance.objects.create(event=rehearsal, member=about, state="late", **at)
        for worked in (show, Show.objects.get(season=band.season, name="Tidewheel")):
            entry = PracticeEntry.objects.create(
                event=rehearsal, member=member, spot=band.spots["1-1"], show=worked, **at
            )
            entry.sets.set(DrillSet.objects.filter(version__show=worked))
    plan, _ = BackupPlan.objects.get_or_create(event=band.event)
    for spot in ("1-2", "1-3"):
        Lesson.objects.create(plan=plan, member=member, spot=band.spots[spot])


def _challenges(band: Band, cast: Cast, member: Member, turn: int) -> None:
    first = ChallengeRound.objects.filter(season=band.season).order_by("pk").first()
    if first is None:
        return
    ChallengeRound.objects.create(
        season=band.season,
        name=f"Round {turn}",
        opens_at=first.opens_at - turn * DAY,
        closes_at=first.closes_at,
        held_at=first.held_at,
        effective=band.event,
    )
    criterion = ChallengeCriterion.objects.create(season=band.season, name=f"Criterion {turn}")
    for spot, holder in (("1-3", "Cai Ørnberg"), (f"2-{turn - 2}", "Fay Ashgrove")):
        challenger = band.member(f"Challenger {turn} {spot}", "trumpet")
        challenge = Challenge.objects.create(
            round=first, spot=band.spots[spot], challenger=challenger, holder=band.members[holder]
        )
        for user in (cast.evaluator, cast.staff):
            ChallengeMark.objects.create(
                challenge=challenge, evaluator=user, criterion=criterion, side="B", value=turn
            )
    ProtectedSpot.objects.create(spot=band.spots[f"1-{turn}"], protected_by=cast.staff)


def _drill(band: Band, turn: int) -> None:
    """Another limit, another set in every version, and a dot that moves through others."""
    instrument = band.parts["clarinet"].instrument
    StepLimit.objects.create(
        season=band.season, instrument=instrument, from_tempo=turn, largest_step=640
    )
    for version in ShowVersion.objects.filter(show__season=band.season, show__name="Lanternwalk"):
        page = DrillSet.objects.create(version=version, order=turn, label=str(turn), counts=4)
        for n, dot in enumerate(version.show.dots.all()):
            Position.objects.create(set=page, dot=dot, x=-360 * n, y=7200)


def add_records(band: Band, cast: Cast, turn: int) -> None:
    """Two performances that are over, one with its record confirmed."""
    for day in (turn, turn + 10):
        event = Event.objects.create(
            season=band.season, name="Past", date=datetime.date(2020, 11, day), time_zone="UTC"
        )
        segment = Segment.objects.create(
            event=event, order=1, name="Run", kind="halftime", starts="16:00", ends="16:20"
        )
        lineup = write_lineup(event, cast.staff, 1)
        if day == turn:
            record = MarchingRecord.objects.create(
                event=event, lineup=lineup, confirmed_by=cast.staff
            )
            RecordEntry.objects.bulk_create(
                RecordEntry(
                    record=record,
                    segment=segment,
                    member=member,
                    outcome="stood by",
                    first_outcome="stood by",
                )
                for member in band.members.values()
            )
    for old in MarchingRecord.objects.filter(event__season=band.season):
        RecordEntry.objects.bulk_create(
            RecordEntry(
                record=old,
                segment=old.event.segments.get(),
                member=member,
                outcome="offered",
                first_outcome="stood by",
                corrected_by=cast.staff,
            )
            for member in list(band.members.values())[-2:]
            if not old.entries.filter(member=member).exists()
        )


def _account(band: Band, cast: Cast, turn: int) -> None:
    user = User.objects.create_user(f"more{turn}@staff.example", f"More {turn}")
    with recorded(user, "make rows"):
        RoleGrant.objects.create(user=user, season=band.season, role=Role.STAFF)
        ImportBatch.objects.create(
            kind="members", filename=f"{turn}.csv", batch=f"more {turn}", by=user
        )


def map_all(show: Show, spots: list[Spot]) -> None:
    """Every spot marches the dot of its own label, said so row by row."""
    dots = {p.label: p for p in show.dots.all()}
    DotMap.objects.bulk_create(
        DotMap(show=show, spot=s, dot=dots[s.label]) for s in spots if s.label in dots
    )
