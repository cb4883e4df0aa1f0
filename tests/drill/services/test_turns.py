"""The turn book as the solver's fairness level, and what is refused."""

from __future__ import annotations

import datetime

import pytest

from bandops.lib.errors import Overtaken, Refused
from drill import queries
from drill.core.problem import Level
from drill.core.solver import solve
from drill.core.turns import Outcome
from drill.enums import AbsenceKind, TravelState, TurnOutcome
from drill.models import Event, Lineup, Segment, Traveller, TravelList, Turn, TurnBook
from drill.services.absences import Report, report_absence
from drill.services.problem_builder import build, key
from drill.services.turn_tables import Choice, sheet
from drill.services.turns import confirm_turns, correct_turn
from roster.models import Member
from tests.architecture.many import write_lineup
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("counts with conditions")]

AFTER = datetime.date(2099, 10, 1)


def played(band: Band, cast: Cast, day: int, kind: str = "game") -> Lineup:
    """A performance of September with two segments, published with all holders."""
    event = Event.objects.create(
        season=band.season,
        name=f"Game {day}",
        kind=kind,
        date=datetime.date(2099, 9, day),
        time_zone="America/Chicago",
    )
    for order, hour in ((1, 14), (2, 16)):
        Segment.objects.create(
            event=event,
            order=order,
            name=f"Run {order}",
            kind="halftime",
            starts=datetime.time(hour),
            ends=datetime.time(hour, 20),
        )
    return write_lineup(event, cast.staff, 1)


def confirm(
    cast: Cast, lineup: Lineup, told: dict[tuple[int, Member], Choice] | None = None
) -> TurnBook:
    """Confirm with what was otherwise, by the segment's order and the member."""
    segments = {s.order: s.pk for s in lineup.event.segments.all()}
    chosen = {(segments[order], m.pk): choice for (order, m), choice in (told or {}).items()}
    return confirm_turns(
        actor=cast.staff, event=lineup.event, seen_lineup=lineup.pk, chosen=chosen, today=AFTER
    )


def out(band: Band, cast: Cast, name: str, event: Event) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": event})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def outcomes(book: TurnBook, member: Member) -> list[str]:
    turns = Turn.objects.filter(book=book, member=member).order_by("segment__order")
    return [t.now for t in turns]


def test_the_first_guess_comes_from_the_newest_revision_and_the_absences(
    band: Band, cast: Cast
) -> None:
    lineup = played(band, cast, 5)
    out(band, cast, "Cai Ørnberg", lineup.event)
    out(band, cast, "Jon Pell", lineup.event)
    Member.objects.filter(pk=band.members["Kit Moss"].pk).update(cleared="no")
    band.member("No Place", "trumpet")
    book = confirm(cast, lineup)
    expected = {
        "Ana Núñez": "marched 1-1",
        "Cai Ørnberg": "was placed, did not march",
        "Ida Voss": "stood by, dressed",
        "Jon Pell": "was not there",
        "Kit Moss": "was not there",
        "No Place": "was not there",
    }
    for name, words in expected.items():
        assert outcomes(book, band.members[name]) == [words] * 2, name
    missed = Turn.objects.filter(book=book, member=band.members["Cai Ørnberg"])
    assert {t.spot for t in missed} == {band.spots["1-3"]}, "with the place they had"


def test_the_newest_revision_is_the_end_of_the_day(band: Band, cast: Cast) -> None:
    """What the game-day desk changed is a revision of its own."""
    first = played(band, cast, 5)
    second = write_lineup(first.event, cast.staff, None)
    ida, cai = band.members["Ida Voss"], band.members["Cai Ørnberg"]
    second.rows.filter(spot=band.spots["1-3"]).update(member=ida, origin="stands in")
    Lineup.objects.filter(pk=second.pk).update(number=2, state="published")
    with pytest.raises(Overtaken, match="Revision 2 was published meanwhile"):
        confirm(cast, first)
    book = confirm(cast, second)
    assert outcomes(book, ida) == ["marched 1-3"] * 2
    assert outcomes(book, cai) == ["stood by, dressed"] * 2


def test_who_was_not_on_the_bus_did_not_stand_by(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    travel = TravelList.objects.create(event=lineup.event)
    Traveller.objects.create(list=travel, member=band.members["Ida Voss"], role="cover")
    jon = band.members["Jon Pell"]
    segment = lineup.event.segments.get(order=1)
    assert sheet(lineup.event, lineup).guesses[segment.pk, jon.pk].outcome is Outcome.STOOD_BY
    TravelList.objects.filter(pk=travel.pk).update(
        state=TravelState.POSTED, posted_at="2099-09-01T12:00Z"
    )
    book = confirm(cast, lineup)
    assert outcomes(book, jon) == ["was not there"] * 2
    assert outcomes(book, band.members["Ida Voss"]) == ["stood by, dressed"] * 2


def alike(band: Band) -> tuple[Member, Member]:
    """Two who could fill 1-3 and are equal in everything but their turns."""
    Member.objects.filter(alternate_place__isnull=False).update(status="on leave")
    return band.member("Lou Fenwick", "trumpet"), band.member("Mo Tarn", "trumpet")


@pytest.mark.parametrize("swapped", [False, True])
def test_the_solver_prefers_whoever_marched_less_of_their_chances(
    band: Band, cast: Cast, swapped: bool
) -> None:
    """By hand: the one marched 2 of 3 chances (the fourth segment they missed): 67 percent. The
    other marched 2 of 5 (three more stood by or offered, one away): 40 percent."""
    pair = alike(band)
    often, seldom = reversed(pair) if swapped else pair
    cai, bo = band.members["Cai Ørnberg"], band.members["Bo Larkspur"]
    third = Choice(Outcome.MARCHED, band.spots["1-3"].pk)
    second = Choice(Outcome.MARCHED, band.spots["1-2"].pk)
    gone = Choice(Outcome.AWAY)
    confirm(
        cast,
        played(band, cast, 5),
        {(1, often): third, (1, cai): gone, (2, often): third, (2, cai): gone}
        | {(1, seldom): second, (1, bo): gone, (2, seldom): second, (2, bo): gone},
    )
    confirm(
        cast,
        played(band, cast, 12),
        {(1, often): Choice(Outcome.STOOD_BY), (2, often): Choice(Outcome.MISSED)}
        | {(1, seldom): Choice(Outcome.STOOD_BY), (2, seldom): Choice(Outcome.OFFERED)},
    )
    confirm(cast, played(band, cast, 19), {(1, seldom): Choice(Outcome.STOOD_BY)})
    found = queries.turns(band.season, band.event.date)
    assert (found[often.pk], found[seldom.pk]) == (67, 40)

    out(band, cast, "Cai Ørnberg", band.event)
    built = build(band.event)
    answer = solve(built.problem)
    placed = answer.at(key(band.halftime.pk), key(band.spots["1-3"].pk))
    assert placed.member == key(seldom.pk)
    assert {m.key: m.turns for m in built.problem.members}[key(often.pk)] == 67
    fairness = next(r for r in answer.levels if r.level is Level.FAIRNESS)
    assert fairness.proven and fairness.value == 2 * 40, "two segments of the event"


def test_what_is_not_confirmed_counts_as_published_until_it_is(band: Band, cast: Cast) -> None:
    """Cai: placed in all of two games, out of the second. Ida: stood by both times. Then the first
    is confirmed, in which Ida marched one of the two segments."""
    first, second = played(band, cast, 5), played(band, cast, 12)
    played(band, cast, 15, "rehearsal")
    out(band, cast, "Cai Ørnberg", second.event)
    cai, ida = band.members["Cai Ørnberg"], band.members["Ida Voss"]

    def share(member: Member, before: datetime.date = AFTER) -> tuple[int, int, int]:
        counts = queries.turn_counts(band.season, before)[member.pk]
        return counts.marched, counts.available, counts.percent

    assert share(cai) == (2, 2, 100) and share(ida) == (0, 4, 0)
    stood = Choice(Outcome.STOOD_BY)
    marched = Choice(Outcome.MARCHED, band.spots["1-3"].pk)
    confirm(cast, first, {(1, ida): marched, (1, cai): stood})
    assert share(cai) == (1, 2, 50) and share(ida) == (1, 4, 25)
    assert share(ida, second.event.date) == (1, 2, 50), "before the second game"
    assert share(ida, first.event.date) == (0, 0, 0), "before the first"


def test_two_published_revisions_count_once(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    write_lineup(lineup.event, cast.staff, 2)
    counts = queries.turn_counts(band.season, AFTER)[band.members["Ana Núñez"].pk]
    assert (counts.marched, counts.available) == (2, 2)


def test_turns_take_a_fixed_number_of_queries(
    band: Band, cast: Cast, django_assert_num_queries: object
) -> None:
    def count() -> None:
        with django_assert_num_queries(5):  # type: ignore[operator]
            queries.turns(band.season, AFTER)

    count()
    confirm(cast, played(band, cast, 5))
    played(band, cast, 12)
    out(band, cast, "Cai Ørnberg", band.event)
    count()


def test_nothing_is_confirmed_twice_too_early_or_for_a_rehearsal(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    confirm(cast, lineup)
    turns = Turn.objects.count()
    with pytest.raises(Refused, match="confirmed already by Staff"):
        confirm(cast, lineup)
    assert Turn.objects.count() == turns
    with pytest.raises(Refused, match="is no past performance"):
        confirm(cast, played(band, cast, 12, "rehearsal"))
    with pytest.raises(Refused, match="is no past performance"):
        confirm(cast, write_lineup(band.event, cast.staff, 1))


def test_two_people_did_not_march_one_spot(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    told = {(1, band.members["Ida Voss"]): Choice(Outcome.MARCHED, band.spots["1-3"].pk)}
    with pytest.raises(Refused) as refusal:
        confirm(cast, lineup, told)
    assert refusal.value.details == ("Run 1 1-3: Cai Ørnberg and Ida Voss",)
    assert not TurnBook.objects.exists() and not Turn.objects.exists()


def test_a_correction_keeps_what_was_first_confirmed(band: Band, cast: Cast) -> None:
    book = confirm(cast, played(band, cast, 5))
    ida, cai = band.members["Ida Voss"], band.members["Cai Ørnberg"]
    of_ida, of_cai = (Turn.objects.filter(book=book, member=m).earliest("pk") for m in (ida, cai))
    third = band.spots["1-3"]

    def correct(turn: Turn, outcome: TurnOutcome, note: str = "seen on film") -> Turn:
        spot = third if outcome == TurnOutcome.MARCHED else None
        return correct_turn(actor=cast.director, turn=turn, outcome=outcome, spot=spot, note=note)

    with pytest.raises(Refused, match="Cai Ørnberg is in the book for 1-3 in Run 1"):
        correct(of_ida, TurnOutcome.MARCHED)
    with pytest.raises(Refused, match="Say why"):
        correct(of_cai, TurnOutcome.STOOD_BY, " ")
    correct(of_cai, TurnOutcome.STOOD_BY)
    made = correct(of_ida, TurnOutcome.MARCHED)
    with pytest.raises(Refused, match="what the book says already"):
        correct(of_ida, TurnOutcome.MARCHED)
    assert (made.now, made.first) == ("marched 1-3", "stood by, dressed")
    assert (made.note, made.corrected_by) == ("seen on film", cast.director)
    of_cai.refresh_from_db()
    assert (of_cai.now, of_cai.first) == ("stood by, dressed", "marched 1-3")
    share = queries.turn_counts(band.season, AFTER)[ida.pk]
    assert (share.marched, share.available) == (1, 2), "the solver reads the corrected book"
