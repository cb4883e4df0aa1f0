"""Lineups edited by hand: two editors, broken rules, releases, and without the solver."""

from __future__ import annotations

import pytest

from bandops.lib.accounts.models import User
from bandops.lib.errors import Overtaken, Refused
from drill.lineup import queries as lineup_queries
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand, start_by_hand, take_proposal
from drill.lineup.services.orders import pin_member
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.publishing import publish_lineup
from drill.publishing.services.releasing import release_member
from tests.drill.publishing.publishing_help import at, publish, say_out
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


def test_the_second_of_two_editors_is_told_what_the_first_changed(band: Band, cast: Cast) -> None:
    seen = open_draft(actor=cast.staff, event=band.event).version
    both = [
        (cast.director, "1-2", "Jon Pell"),
        (cast.staff, "1-3", "Ida Voss"),
    ]

    def edit(actor: User, spot: str, name: str) -> None:
        place_by_hand(
            actor=actor,
            event=band.event,
            seen_version=seen,
            segment=band.halftime,
            spot=band.spots[spot],
            member=band.members[name],
        )

    edit(*both[0])
    with pytest.raises(Overtaken) as overtaken:
        edit(*both[1])
    assert overtaken.value.details == ("Halftime 1-2: now Jon Pell",)
    draft = lineup_queries.draft(band.event)
    assert draft is not None
    assert at(draft, "Halftime", "1-2") == "Jon Pell", "the first edit is kept"
    assert at(draft, "Halftime", "1-3") == "Cai Ørnberg"


def test_a_hand_edit_that_breaks_a_rule_is_refused(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    with pytest.raises(Refused) as refusal:
        place_by_hand(
            actor=cast.staff,
            event=band.event,
            seen_version=draft.version,
            segment=band.halftime,
            spot=band.spots["2-3"],
            member=band.members["Jon Pell"],
        )
    assert "not qualified" in refusal.value.details[0]
    draft.refresh_from_db()
    assert at(draft, "Halftime", "2-3") == "Hal Brook"


def test_a_hand_edit_empties_seats_whose_members_can_no_longer_march(
    band: Band, cast: Cast
) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    say_out(band, cast, "Gus Tamm")
    edited = place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-2"],
        member=band.members["Jon Pell"],
    )
    assert len(edited.emptied) == 2
    assert at(edited.lineup, "Pregame", "2-2") == "hole"


def test_releasing_a_member_empties_events_to_come_and_tells(band: Band, cast: Cast) -> None:
    publish(band, cast)
    made = release_member(actor=cast.staff, member=band.members["Hal Brook"], on=band.season.starts)
    assert [(x.event_id, x.number) for x in made] == [(band.event.pk, 2)]
    assert at(made[0], "Halftime", "2-3") == "hole"
    assert lineup_queries.draft(band.event) is None
    assert {n.member.name for n in made[0].notices.all()} == {"Fay Ashgrove"}
    assert band.members["Hal Brook"].holdings.filter(ends=None).count() == 0


def test_a_saved_lineup_comes_back_as_it_was_solved(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    assert len(placements_of(draft)) == 16
    again = take_proposal(actor=cast.staff, event=band.event, seen_version=draft.version)
    assert sorted(placements_of(again), key=str) == sorted(placements_of(draft), key=str)


def test_a_lineup_can_be_made_without_the_solver(
    band: Band, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise AssertionError("the solver must not be asked")

    monkeypatch.setattr("drill.lineup.services.proposals.solve", broken)
    say_out(band, cast, "Cai Ørnberg")
    pin_member(
        actor=cast.staff,
        event=band.event,
        segment=band.halftime,
        spot=band.spots["1-2"],
        member=band.members["Jon Pell"],
    )
    draft = start_by_hand(actor=cast.staff, event=band.event)
    assert at(draft, "Halftime", "1-3") == "hole"
    assert at(draft, "Halftime", "1-2") == "Jon Pell"
    assert at(draft, "Pregame", "1-2") == "Bo Larkspur"
    edited = place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Ida Voss"],
    )
    made = publish_lineup(
        actor=cast.staff,
        event=band.event,
        seen_version=edited.lineup.version,
        seen_number=None,
    )
    assert (made.stage, made.certificate) == ("by hand", None)
    assert at(made, "Halftime", "1-3") == "Ida Voss"
