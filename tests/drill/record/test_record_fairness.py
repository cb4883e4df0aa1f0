"""The marching record as the solver's fairness level."""

from __future__ import annotations

import datetime

import pytest
from pytest_django import DjangoAssertNumQueries

from bandops.lib.keys import key
from drill.lineup.core.problem import Level
from drill.lineup.core.solver import solve
from drill.lineup.services.problem_builder import build
from drill.record import queries as record_queries
from drill.record.core.record import Outcome
from drill.record.services.record_sheet import Choice
from roster.people.models import Member
from tests.architecture.many import write_lineup
from tests.drill.record.marching_record import AFTER, confirm, out, played
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("counts with conditions")]


def alike(band: Band) -> tuple[Member, Member]:
    """Two who could fill 1-3 and are equal in everything but their record."""
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
    found = record_queries.marched_percents(band.season, band.event.date)
    assert (found[often.pk], found[seldom.pk]) == (67, 40)

    out(band, cast, "Cai Ørnberg", band.event)
    built = build(band.event)
    answer = solve(built.problem)
    placed = answer.at(key(band.halftime.pk), key(band.spots["1-3"].pk))
    assert placed.member == key(seldom.pk)
    assert {m.key: m.marched_percent for m in built.problem.members}[key(often.pk)] == 67
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
        counts = record_queries.record_counts(band.season, before)[member.pk]
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
    counts = record_queries.record_counts(band.season, AFTER)[band.members["Ana Núñez"].pk]
    assert (counts.marched, counts.available) == (2, 2)


def test_the_record_takes_a_fixed_number_of_queries(
    band: Band, cast: Cast, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    def count() -> None:
        with django_assert_num_queries(8):
            record_queries.marched_percents(band.season, AFTER)

    played(band, cast, 4)
    count()
    confirm(cast, played(band, cast, 5))
    played(band, cast, 12)
    out(band, cast, "Cai Ørnberg", band.event)
    count()
