"""What was closed up or cut is taken back, or restored once it is published."""

from __future__ import annotations

import datetime
from typing import TypedDict

import pytest
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from drill.closing.services import closing
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import OpenSeat
from drill.lineup.services.orders import leave_open
from drill.shows.models import Show, ShowVersion
from drill.shows.services.versions import start_version, use_version
from tests.drill.closing.closing_up import SignedIn, close, emptied, publish, show, words
from tests.factories import Band, Cast

__all__ = ["show"]

pytestmark = pytest.mark.django_db


class Told(TypedDict):
    """Who changes which show for which event."""

    actor: User
    event: Event
    show: Show


def test_after_the_cut_off_only_the_director(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    past = datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)
    Event.objects.filter(pk=band.event.pk).update(cut_off=past)
    staff = signed_in(cast.staff)
    close(staff, band)
    staff.post(
        reverse("cut-show", args=[band.event.pk, show.pk]), {"first": "2", "last": "2", "counts": 8}
    )
    assert not ShowVersion.objects.filter(at_event__event=band.event).exists()
    close(signed_in(cast.director), band)
    staff.post(reverse("drill-undo", args=[band.event.pk, show.pk]))
    assert ShowVersion.objects.filter(at_event__event=band.event).count() == 1


def test_it_is_taken_back_in_one_step(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    staff = signed_in(cast.staff)
    close(staff, band)
    assert (
        "Take the newest change back"
        in staff.get(reverse("event-drill", args=[band.event.pk])).text
    )
    staff.post(reverse("drill-undo", args=[band.event.pk, show.pk]))
    assert not ShowVersion.objects.filter(at_event__event=band.event).exists()
    assert not OpenSeat.objects.exists()
    draft = lineup_queries.draft(band.event)
    assert draft is not None and words(draft, "1-4") == {("hole", "open spot")}
    again = staff.post(reverse("drill-undo", args=[band.event.pk, show.pk]), follow=True)
    assert "Nothing in Tidewheel is changed for Pellowick at home only." in again.text


def test_an_order_of_before_outlives_the_undoing(band: Band, show: Show, cast: Cast) -> None:
    emptied(band, cast)
    leave_open(actor=cast.staff, event=band.event, segment=band.halftime, spot=band.spots["1-4"])
    told = Told(actor=cast.staff, event=band.event, show=show)
    line = ["1-1", "1-2", "1-3", "1-4", "1-5"]
    closing.close_up(**told, spot=band.spots["1-4"], line=line, sets=["1"])
    closing.undo_change(**told)
    assert OpenSeat.objects.get().segment == band.halftime


def labels_at(event: Event, show: Show) -> list[str]:
    version = event_queries.current_versions({show.pk}, event)[show.pk]
    return list(version.sets.order_by("order").values_list("label", flat=True))


def test_changes_are_restored_one_after_another(band: Band, show: Show, cast: Cast) -> None:
    """Two cuts, published one by one: each restoring takes one back, then the show is its own."""
    publish(band, cast)
    told = Told(actor=cast.staff, event=band.event, show=show)
    closing.cut_show(**told, first="2", last="2", counts=16)
    publish(band, cast, 1)
    closing.cut_show(**told, first="3", last="3", counts=24)
    publish(band, cast, 2)
    closing.restore(**told)
    assert labels_at(band.event, show) == ["1", "3", "4"]
    with pytest.raises(Refused, match="restore this one too"):
        closing.undo_change(**told)
    closing.restore(**told)
    assert labels_at(band.event, show) == ["1", "2", "3", "4"]
    with pytest.raises(Refused, match="Nothing in Tidewheel is changed"):
        closing.restore(**told)


def test_what_is_restored_follows_the_show_again(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    publish(band, cast)
    told = Told(actor=cast.staff, event=band.event, show=show)
    closing.cut_show(**told, first="2", last="2", counts=16)
    publish(band, cast, 1)
    page = signed_in(cast.staff).get(reverse("event-drill", args=[band.event.pk]))
    assert [row["newest"] is not None for row in page.context["rows"]] == [True]
    closing.restore(**told)
    page = signed_in(cast.staff).get(reverse("event-drill", args=[band.event.pk]))
    assert [row["newest"] for row in page.context["rows"]] == [None]
    first = show.versions.get(label="first")
    second = start_version(actor=cast.staff, show=show, label="second", copy_of=first)
    use_version(actor=cast.staff, version=second)
    assert event_queries.current_versions({show.pk}, band.event)[show.pk] == second
