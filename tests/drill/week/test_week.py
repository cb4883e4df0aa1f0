"""The start page of each role, and the next step that the week names."""

from __future__ import annotations

import pytest
from django.urls import reverse

from drill.absences.services.absences import Report, report_absence
from tests.architecture.world import client_of
from tests.drill.publishing.revision_prints import publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
FIRST_PAGES = [
    ("visitor", "sign-in"),
    ("director", "week"),
    ("staff", "week"),
    ("leader", "my-rank"),
    ("member", "card"),
    ("equipment", "equipment"),
    ("evaluator", "marks"),
]


@pytest.mark.parametrize(("role", "name"), FIRST_PAGES)
def test_each_role_starts_on_its_own_page(band: Band, cast: Cast, role: str, name: str) -> None:
    response = client_of(cast, role).get(reverse("home"))
    assert response.headers["Location"] == reverse(name)


def test_who_has_no_role_is_told_so(band: Band, cast: Cast) -> None:
    response = client_of(cast, "outsider").get(reverse("home"))
    assert response.status_code == 200 and "week/no_role.html" in names_of(response)


def names_of(response: object) -> set[str | None]:
    return {template.name for template in getattr(response, "templates", [])}


def step(cast: Cast) -> tuple[str, str]:
    found = client_of(cast, "staff").get(reverse("week")).context["step"]
    return found.label, found.url


def test_the_next_step_leads_from_no_lineup_to_a_published_one(band: Band, cast: Cast) -> None:
    assert step(cast) == ("Make the lineup", reverse("lineup", args=[band.event.pk]))
    member = band.members["Cai Ørnberg"]
    report = Report(member, {"kind": "out", "event": band.event})
    report_absence(actor=cast.member, report=report, by_staff=False)
    assert step(cast) == ("Decide 1 reported absence", reverse("absences"))
    member.absences.update(state="declined")
    publish(band, cast)
    assert step(cast)[0] not in ("Make the lineup", "Publish")
