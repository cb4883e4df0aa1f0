"""Somebody doubtful is counted and called so on every page, however the season plans them."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from drill.absences.services.absences import Report, report_absence
from drill.absences.services.doubtful import doubtful_at
from drill.events.models import Event
from drill.lineup.services.drafts import open_draft
from roster.people.queries import active_members
from tests.architecture.world import client_of
from tests.drill.publishing.revision_prints import publish
from tests.factories import Band, Cast
from tests.lib.imports_help import words

pytestmark = pytest.mark.django_db


@pytest.fixture
def maybe(band: Band, cast: Cast) -> None:
    report_absence(
        actor=cast.staff,
        report=Report(
            band.members["Cai Ørnberg"],
            {"kind": "doubtful", "event": band.event, "chance": Decimal("0.5")},
        ),
        by_staff=True,
    )


def event_of(band: Band) -> Event:
    return Event.objects.get(pk=band.event.pk)


@pytest.mark.parametrize(("out_from", "is_out"), [("0.5", True), ("0.6", False)])
def test_the_season_s_setting_plans_the_doubtful(
    band: Band, maybe: None, out_from: str, is_out: bool
) -> None:
    band.season.doubtful_out_from = Decimal(out_from)
    band.season.save()
    (one,) = doubtful_at(event_of(band), active_members(band.season), None)
    assert (one.member.name, one.percent, one.is_out) == ("Cai Ørnberg", "50%", is_out)
    assert one.where == "Pregame, Halftime"


def shown(cast: Cast, name: str, *args: Any, role: str = "staff") -> str:
    return words(client_of(cast, role).get(reverse(name, args=args)))


@pytest.mark.parametrize("name", ["week", "lineup", "desk"])
def test_staff_s_pages_count_them_and_link_the_setting(
    band: Band, cast: Cast, maybe: None, name: str
) -> None:
    publish(band, cast)
    text = shown(cast, name, *([band.event.pk] if name == "lineup" else []))
    assert "1 person is doubtful that day" in text and "(50%)" in text
    assert "planned as out by" in text and reverse("set-up") in text


def test_the_week_counts_members_not_placed_spots(band: Band, cast: Cast, maybe: None) -> None:
    assert "<b>1</b> doubtful" in shown(cast, "week")


def test_the_rank_s_page_says_planned_as_out_without_a_chance(
    band: Band, cast: Cast, maybe: None
) -> None:
    text = shown(cast, "my-rank", role="leader")
    assert "doubtful, planned as out" in text
    assert "50%" not in text


def test_a_spot_s_page_says_why_they_are_not_offered(band: Band, cast: Cast, maybe: None) -> None:
    open_draft(actor=cast.staff, event=band.event)
    spot = band.members["Cai Ørnberg"].holdings.get().spot
    text = shown(cast, "seat", band.event.pk, band.halftime.pk, spot.pk)
    assert "doubtful (50%), planned as out by the season's setting" in text


def test_the_setting_is_told_where_the_link_leads(band: Band, cast: Cast) -> None:
    assert "Planned as out at a chance of 50%" in shown(cast, "set-up")
