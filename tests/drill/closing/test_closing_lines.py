"""A line closed up for one event: pictured, saved, and read on the field."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TypedDict

import pytest
from django.urls import reverse

from drill.closing.services import closing
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Block, OpenSeat, Pin
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.orders import block_member, leave_open, lift_order, pin_member
from drill.shows.models import Dot, DrillSet, Path, Show, ShowVersion
from roster.ranks.models import Spot
from tests.drill.closing.closing_up import STEP, SignedIn, close, emptied, show, words, xs
from tests.factories import Band, Cast

__all__ = ["show"]

pytestmark = pytest.mark.django_db


def test_both_are_pictured_before_anything_is_saved(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    staff = signed_in(cast.staff)
    page = staff.get(
        reverse("close-up", args=[band.event.pk, band.halftime.pk, band.spots["1-4"].pk])
    )
    assert page.context["form"].initial["sets"] == ("1", "2", "3", "4")
    assert [dot.label for dot in page.context["open"].holes] == ["1-4"]
    assert {dot.label for dot in page.context["closed"].moved} == {"1-2", "1-3"}
    assert [dot.label for dot in page.context["closed"].closed] == ["1-4"]
    assert page.text.count(">(1-4)</text>") == 1, "on the picture with the line closed up"
    close(staff, band, what="preview", sets=["2"])
    assert not ShowVersion.objects.filter(at_event__event=band.event).exists()


def test_a_line_is_closed_up_for_this_event_alone(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    close(signed_in(cast.staff), band, sets=["1", "2", "4"])
    made = event_queries.current_versions({show.pk}, band.event)[show.pk]
    assert made.change is not None
    assert made.at_event.event == band.event and made.change["code"] == "close"
    assert event_queries.current_versions({show.pk})[show.pk].label == "first"
    line = {f"1-{n}": x for n, x in ((1, 0), (2, 1920), (3, 3840), (5, 5760))}
    assert line.items() <= xs(made, "1").items() and "1-4" not in xs(made, "1")
    assert xs(made, "3")["1-3"] == 4 * STEP, "not chosen: stands where it stood"
    draft = lineup_queries.draft(band.event)
    assert draft is not None
    assert words(draft, "1-4") == {("closed-up", "closed up")}
    assert OpenSeat.objects.count() == 2, "pregame marches the same show"
    lineup, halftime = reverse("lineup", args=[band.event.pk]), str(band.halftime.pk)
    page = signed_in(cast.staff).get(lineup)
    assert "(1-4)" in page.text and "closed up" in page.text
    field = signed_in(cast.staff).get(lineup, {"view": "field", "segment": halftime, "set": "2"})
    assert [(d.label, d.x) for d in field.context["picture"].closed] == [("1-4", 6 * STEP)]
    assert ">(1-4)</text>" in field.text
    assert "in parentheses means the line is closed up" in field.text


def test_after_a_cut_the_closed_up_dot_is_still_named_on_the_field(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    staff = signed_in(cast.staff)
    close(staff, band)
    staff.post(
        reverse("cut-show", args=[band.event.pk, show.pk]), {"first": "2", "last": "2", "counts": 8}
    )
    query = {"view": "field", "segment": str(band.halftime.pk), "set": "3"}
    page = staff.get(reverse("lineup", args=[band.event.pk]), query)
    assert [(d.label, d.x) for d in page.context["picture"].closed] == [("1-4", 6 * STEP)]


def test_a_spot_left_open_has_its_label_on_the_field(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    leave_open(actor=cast.staff, event=band.event, segment=band.halftime, spot=band.spots["1-4"])
    emptied(band, cast)
    query = {"view": "field", "segment": str(band.halftime.pk)}
    page = signed_in(cast.staff).get(reverse("lineup", args=[band.event.pk]), query)
    picture = page.context["picture"]
    assert ([d.label for d in picture.opens], picture.closed) == (["1-4"], ())
    assert 'class="opens"' in page.text and ">1-4</text>" in page.text


def test_a_seat_that_is_filled_stays(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    open_draft(actor=cast.staff, event=band.event)
    page = close(signed_in(cast.staff), band)
    assert "Dee Quill marches 1-4 in Pregame: empty it first." in page.text
    assert not ShowVersion.objects.filter(at_event__event=band.event).exists()


def test_words_of_ways_stay_with_those_who_go_as_before(band: Band, show: Show, cast: Cast) -> None:
    emptied(band, cast)
    page = DrillSet.objects.get(version__show=show, label="2")
    for label in ("1-2", "2-3"):
        dot = Dot.objects.get(show=show, label=label)
        Path.objects.create(set=page, dot=dot, words="forward 8")
    made = closing.close_up(
        actor=cast.staff,
        event=band.event,
        show=show,
        spot=band.spots["1-4"],
        line=["1-1", "1-2", "1-3", "1-4", "1-5"],
        sets=["1", "2", "3", "4"],
    )
    kept = {p.dot.label: (p.words, p.curved) for p in Path.objects.filter(set__version=made)}
    assert kept == {"2-3": ("forward 8", False), "1-2": ("", True)}


class Seat(TypedDict):
    event: Event
    spot: Spot


def test_an_order_for_one_segment_leaves_pins_of_others(band: Band, show: Show, cast: Cast) -> None:
    seat = Seat(event=band.event, spot=band.spots["1-4"])
    dee = band.members["Dee Quill"]
    orders: dict[str, Callable[[], OpenSeat | Block]] = {
        "leave_open": partial(leave_open, actor=cast.staff, segment=band.halftime, **seat),
        "block_member": partial(
            block_member, actor=cast.staff, segment=band.halftime, member=dee, **seat
        ),
    }
    for name, order in orders.items():
        pin_member(actor=cast.staff, segment=band.pregame, member=dee, **seat)
        pin_member(actor=cast.staff, segment=band.halftime, member=dee, **seat)
        made = order()
        assert [pin.segment for pin in Pin.objects.all()] == [band.pregame], name
        lift_order(actor=cast.staff, order=made)
