"""Lineups edited by hand: two editors, broken rules, releases, and without the solver."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.keys import key
from drill.events.models import Segment
from drill.leaving.services.releasing import release_member
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import Change
from drill.lineup.models import OpenSeat, Pin
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import (
    Edited,
    place_by_hand,
    start_by_hand,
    swap_by_hand,
    take_proposal,
)
from drill.lineup.services.orders import block_member, leave_open, pin_member
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.publishing import publish_lineup
from tests.architecture.world import client_of
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


def put(
    band: Band, cast: Cast, spot: str, name: str, seen: int, number: int | None = None
) -> Edited:
    return place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=seen,
        segment=band.halftime,
        spot=band.spots[spot],
        member=band.members[name],
        seen_number=number,
    )


def test_who_stands_there_already_changes_nothing(band: Band, cast: Cast) -> None:
    """Neither the draft, nor, where a revision is on the page, that there is none."""
    draft = open_draft(actor=cast.staff, event=band.event)
    assert put(band, cast, "1-3", "Cai Ørnberg", draft.version).changes == ()
    before = draft.version
    draft.refresh_from_db()
    assert draft.version == before
    publish(band, cast)
    assert put(band, cast, "1-3", "Cai Ørnberg", 1, 1).changes == ()
    assert lineup_queries.draft(band.event) is None


def test_an_edit_says_who_moves_and_who_is_left_over(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    edited = put(band, cast, "1-3", "Gus Tamm", draft.version)
    names = {key(m.pk): m.name for m in band.members.values()}
    assert {(names[c.member], c.change) for c in edited.changes} == {
        ("Gus Tamm", Change.MOVES),
        ("Cai Ørnberg", Change.STEPS_OUT),
    }
    assert at(edited.lineup, "Halftime", "2-2") == "hole"
    assert at(edited.lineup, "Pregame", "2-2") == "Gus Tamm"


def test_a_published_page_can_be_edited_whatever_its_draft_counted(band: Band, cast: Cast) -> None:
    """The draft of a revision starts to count anew."""
    draft = open_draft(actor=cast.staff, event=band.event)
    seen = put(band, cast, "1-2", "Jon Pell", draft.version).lineup.version
    publish_lineup(actor=cast.staff, event=band.event, seen_version=seen, seen_number=None)
    client = client_of(cast, "staff")
    seat = [band.event.pk, band.halftime.pk, band.spots["1-3"].pk]
    page = client.get(reverse("seat", args=seat)).context
    form = {"version": page["version"], "number": page["number"]}
    ida = form | {"member": band.members["Ida Voss"].pk}
    client.post(reverse("place", args=seat), ida)
    made = lineup_queries.draft(band.event)
    assert made is not None and at(made, "Halftime", "1-3") == "Ida Voss"


def test_a_page_of_an_older_revision_edits_nothing(band: Band, cast: Cast) -> None:
    publish(band, cast)
    put(band, cast, "1-3", "Ida Voss", 1, 1)
    publish(band, cast, 1)
    with pytest.raises(Overtaken, match="Revision 2 was just published"):
        put(band, cast, "1-2", "Jon Pell", 1, 1)


def swap(band: Band, cast: Cast, first: str, second: str, *segments: Segment) -> Edited:
    draft = open_draft(actor=cast.staff, event=band.event)
    return swap_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segments=segments,
        first=band.members[first],
        second=band.members[second],
    )


def test_two_are_swapped_in_one_segment_or_in_all(band: Band, cast: Cast) -> None:
    made = swap(band, cast, "Cai Ørnberg", "Gus Tamm", band.halftime).lineup
    assert (at(made, "Halftime", "1-3"), at(made, "Halftime", "2-2")) == ("Gus Tamm", "Cai Ørnberg")
    assert at(made, "Pregame", "1-3") == "Cai Ørnberg"
    made = swap(band, cast, "Ana Núñez", "Bo Larkspur", band.pregame, band.halftime).lineup
    assert at(made, "Pregame", "1-1") == at(made, "Halftime", "1-1") == "Bo Larkspur"
    with pytest.raises(Refused, match="cannot be saved"):
        swap(band, cast, "Cai Ørnberg", "Dee Quill", band.pregame)
    with pytest.raises(Refused, match=" have nothing to swap"):
        swap(band, cast, "Ida Voss", "Jon Pell", band.pregame)


def test_the_panels_buttons_do_what_their_lines_say(band: Band, cast: Cast) -> None:
    open_draft(actor=cast.staff, event=band.event)
    client = client_of(cast, "staff")
    seat = [band.event.pk, band.halftime.pk, band.spots["1-3"].pk]
    page = client.get(reverse("seat", args=seat))
    gus = next(c for c in page.context["who"].best if c.member.name == "Gus Tamm")
    assert gus.put.startswith(
        "Cai Ørnberg steps out of 1-3; Gus Tamm moves from 2-2 to 1-3; 2-2 opens. Costs: 1 more"
    )
    assert gus.swap.startswith(
        "Cai Ørnberg moves from 1-3 to 2-2; Gus Tamm moves from 2-2 to 1-3. Costs: more people"
    )
    assert gus.swap_all.startswith("Pregame: Cai Ørnberg moves from 1-3 to 2-2; Pregame: ")
    pair = {"first": gus.member.pk, "second": band.members["Cai Ørnberg"].pk}
    form = pair | {"version": page.context["version"], "scope": "event"}
    client.post(reverse("swap-by-hand", args=[band.event.pk]), form)
    draft = lineup_queries.draft(band.event)
    assert draft is not None
    assert at(draft, "Pregame", "1-3") == at(draft, "Halftime", "1-3") == "Gus Tamm"


def test_an_order_for_one_segment_leaves_a_pin_in_the_others(band: Band, cast: Cast) -> None:
    cai, spot = band.members["Cai Ørnberg"], band.spots["1-3"]

    def pin() -> None:
        Pin.objects.all().delete()
        pin_member(actor=cast.staff, event=band.event, segment=None, spot=spot, member=cai)

    pin()
    leave_open(actor=cast.staff, event=band.event, segment=band.halftime, spot=spot)
    assert Pin.objects.get().segment == band.pregame
    OpenSeat.objects.all().delete()
    pin()
    block_member(actor=cast.staff, event=band.event, segment=band.pregame, spot=None, member=cai)
    assert Pin.objects.get().segment == band.halftime


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
    release_member(actor=cast.staff, member=band.members["Hal Brook"], on=band.season.starts)
    made = lineup_queries.published(band.event)
    assert made is not None and made.number == 2
    assert at(made, "Halftime", "2-3") == "hole"
    assert lineup_queries.draft(band.event) is None
    assert {n.member.name for n in made.notices.all()} == {"Fay Ashgrove"}
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
