"""A saved import leads on to the next step of a season's first run."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drill.events.models import Event
from drill.lineup.models import Lineup
from drill.week.services import first_run
from roster.people.models import Member
from roster.ranks.models import AlternatePlace, Holding, Spot
from tests.architecture.world import client_of
from tests.drill.publishing.revision_prints import publish
from tests.factories import Band, Cast
from tests.lib.imports_help import csv_file
from tests.lib.review_desk import Reviewer

pytestmark = pytest.mark.django_db


@pytest.fixture
def staff(band: Band, cast: Cast) -> Client:
    return client_of(cast, "staff")


def step_after(client: Client, kind: str, *rows: list[object]) -> tuple[str, str]:
    """The main button of the page that says what was saved."""
    it = Reviewer(client, kind, csv_file(*rows))
    assert not it.plan.faults, it.plan.faults
    it.save()
    saved: Any = it.page.context["saved"]
    assert saved.kind == kind
    step = it.page.context["step"]
    assert f'class="button main" href="{step.url}">{step.label}' in it.text
    return step.label, step.url


def test_members_lead_to_ranks(band: Band, staff: Client) -> None:
    AlternatePlace.objects.all().delete()
    Holding.objects.all().delete()
    Spot.objects.all().delete()
    label, url = step_after(staff, "members", ["name", "main part"], ["Nia Tern", "trumpet"])
    assert (label, url) == (
        "Next: bring in ranks and spots",
        reverse("import-upload", args=["ranks"]),
    )


def test_ranks_lead_to_events_events_to_absences_and_those_to_the_lineup(
    band: Band, staff: Client
) -> None:
    day, name = band.event.date, "Lantern game"
    Event.objects.all().delete()
    assert first_run(band.season).url == reverse("import-upload", args=["events"])
    headers: list[object] = ["event", "date", "kind", "segment", "segment kind", "starts", "ends"]
    row: list[object] = [name, day.isoformat(), "game", "Halftime", "halftime", "19:00", "19:20"]
    after_events = step_after(staff, "events", headers, row)
    assert after_events[1] == reverse("import-upload", args=["absences"])
    label, url = step_after(staff, "absences", ["name", "event"], ["Cai Ørnberg", name])
    assert label == f"Next: make the lineup for {name}"
    assert url == reverse("lineup", args=[Event.objects.get().pk])


def test_with_a_lineup_the_week_knows(band: Band, cast: Cast, staff: Client) -> None:
    publish(band, cast)
    assert Lineup.objects.exists()
    assert first_run(band.season).url == reverse("week")


def test_an_empty_season_begins_with_parts(band: Band, cast: Cast) -> None:
    assert Member.objects.exists()
    Event.objects.all().delete()
    page = client_of(cast, "staff").get(reverse("week"))
    assert page.context["step"].url == reverse("import-upload", args=["events"])


@pytest.mark.parametrize("which", ["0", "x", "999999"])
def test_an_import_that_is_none_is_not_shown(band: Band, staff: Client, which: str) -> None:
    page = staff.get(reverse("imports"), {"saved": which})
    assert page.status_code == 200 and "saved" not in page.context
