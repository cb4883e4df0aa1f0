"""What a posted travel list does to lineups, lists and cards."""

from __future__ import annotations

import pytest

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.absences.services.standings import availability
from drill.leaving.services.releasing import release_member
from drill.lineup import queries as lineup_queries
from drill.lineup.core.candidates import candidates
from drill.lineup.core.problem import Origin
from drill.lineup.services import drafts, lineups, orders
from drill.lineup.services.problem_builder import build
from drill.lineup.sheets import sheets
from drill.publishing.services.cards import card
from drill.travel.services import travel
from roster.people.models import Member
from tests.drill.travel.travelling import (
    MARCHERS,
    add,
    limit,
    make,
    out,
    post,
    publish,
    remove,
    roles,
    sheet,
    solved,
)
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked and counted")]


def test_posted_the_solver_uses_only_travellers_and_taken_back_all_again(
    band: Band, cast: Cast
) -> None:
    publish(band, cast)
    limit(band, 9)
    make(band, cast)
    post(band, cast)
    assert set(roles(band)) == MARCHERS | {"Ida Voss"}
    out(band, cast, "Cai Ørnberg")
    out(band, cast, "Fay Ashgrove")
    march = solved(band)
    assert sorted((march["1-3"], march["2-1"])) == ["Ida Voss", Origin.HOLE]
    built = build(band.event)
    at_home = {built.members[m].name for m in built.at_home}
    assert at_home == {"Jon Pell", "Kit Moss"}
    travel.take_back(actor=cast.staff, event=band.event)
    march = solved(band)
    assert {march["1-3"], march["2-1"]} == {"Ida Voss", "Kit Moss"}
    assert not build(band.event).at_home


def test_a_change_after_posting_makes_lineups_stale(band: Band, cast: Cast) -> None:
    limit(band, 9)
    make(band, cast)
    post(band, cast)
    publish(band, cast)
    last = lineup_queries.published(band.event)
    assert last is not None and not drafts.is_stale(last, build(band.event))
    remove(band, cast, "Ida Voss")
    assert drafts.is_stale(last, build(band.event))
    add(band, cast, "Ida Voss")
    assert not drafts.is_stale(last, build(band.event)), "the same facts again"
    travel.take_back(actor=cast.staff, event=band.event)
    assert drafts.is_stale(last, build(band.event))


def test_staff_read_why_somebody_at_home_cannot_march(band: Band, cast: Cast) -> None:
    limit(band, 8)
    make(band, cast)
    post(band, cast)
    with pytest.raises(Refused, match="they are not on the travel list"):
        orders.pin_member(
            actor=cast.staff,
            event=band.event,
            segment=None,
            spot=band.spots["1-3"],
            member=band.members["Ida Voss"],
        )
    draft = drafts.open_draft(actor=cast.staff, event=band.event)
    with pytest.raises(Refused) as refusal:
        lineups.place_by_hand(
            actor=cast.staff,
            event=band.event,
            seen_version=draft.version,
            segment=band.halftime,
            spot=band.spots["1-3"],
            member=band.members["Ida Voss"],
        )
    assert "not on the travel list" in refusal.value.details[0]


def test_no_hole_is_cured_by_somebody_who_is_not_on_the_trip(band: Band, cast: Cast) -> None:
    """Their return from an absence cannot be named: nothing keeps them but the list."""
    limit(band, 8)
    make(band, cast)
    post(band, cast)
    built = build(band.event)
    assert built.returnable.isdisjoint(built.at_home)
    found = candidates(built.problem, {}, (key(band.halftime.pk), key(band.spots["1-3"].pk)))
    why = {built.members[c.member].name: c.why_not for c in found}
    assert why["Ida Voss"] and not why["Cai Ørnberg"]


def test_who_stays_at_home_is_unavailable_in_lists(band: Band, cast: Cast) -> None:
    limit(band, 8)
    make(band, cast)
    publish(band, cast)
    people = [band.members["Ida Voss"], band.members["Cai Ørnberg"]]
    assert set(availability(band.event, people).values()) == {"available"}
    post(band, cast)
    at = availability(band.event, people)
    assert [at[m.pk] for m in people] == ["unavailable", "available"]
    last = lineup_queries.published(band.event)
    assert last is not None
    alternates = [a for rank in sheets(last).ranks for a in rank.alternates]
    assert {a.available for a in alternates} == {"unavailable"}


def test_a_card_says_whether_one_travels_once_it_is_posted(band: Band, cast: Cast) -> None:
    limit(band, 8)
    make(band, cast)
    names = ("Cai Ørnberg", "Ida Voss")

    def travels() -> list[bool | None]:
        return [card(band.members[n], band.event).travels for n in names]

    assert travels() == [None, None], "a draft says nothing"
    post(band, cast)
    assert travels() == [True, False]


def test_whoever_leaves_the_band_leaves_the_list(band: Band, cast: Cast) -> None:
    make(band, cast)
    release_member(
        actor=cast.staff, member=band.members["Ida Voss"], on=band.event.date.replace(day=1)
    )
    assert "Ida Voss" not in roles(band)


def test_a_listed_member_who_is_on_leave_is_named(band: Band, cast: Cast) -> None:
    make(band, cast)
    Member.objects.filter(pk=band.members["Ida Voss"].pk).update(status="on leave")
    assert [m.name for m in sheet(band).gone] == ["Ida Voss"]
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    assert refusal.value.details == ("Ida Voss is no longer active.",)
    remove(band, cast, "Ida Voss")
    post(band, cast)
