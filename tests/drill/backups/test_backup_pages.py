"""The backups page: its forms come back as they were sent, with what is wrong beside the field."""

from __future__ import annotations

import html
import re

import pytest
from django.test import Client
from django.urls import reverse

from drill.backups.models import BackupPlan, Lesson
from drill.lineup.services.drafts import open_draft
from tests.answers import Response
from tests.architecture.markup import Markup
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def staff(band: Band, cast: Cast) -> Client:
    open_draft(actor=cast.staff, event=band.event)
    return client_of(cast, "staff")


def send(client: Client, name: str, band: Band, **data: object) -> Response:
    return client.post(reverse(name, args=[band.event.pk]), data)


def shown_again(response: Response) -> str:
    """The part with the forms, of a page that is whole."""
    assert response.status_code == 200
    page = response.content.decode()
    assert not Markup(page).faults
    assert "?rank=" not in page and 'href="?' not in page, "its links are those of the page itself"
    assert "</table>" in page, "with the spots"
    return html.unescape(page[page.index('id="plan"') :])


def formed(response: Response) -> str:
    """The page of the lesson's own form."""
    assert response.status_code == 200
    page = response.content.decode()
    assert not Markup(page).faults
    return html.unescape(page)


def field(page: str, name: str) -> str:
    """A field with its label and what is said of it."""
    start = page.rindex('<div class="field">', 0, page.index(f'id="id_{name}"'))
    return page[start : page.index("</div>", page.index(f'id="id_{name}"'))]


@pytest.mark.parametrize(
    ("name", "value", "fault"),
    [
        ("lessons_each", "7", "less than or equal to 6"),
        ("lessons_each", "", "This field is required"),
        ("chance", "0.7", "less than or equal to 0.5"),
    ],
)
def test_a_plan_that_cannot_be_made_keeps_what_was_typed(
    staff: Client, band: Band, name: str, value: str, fault: str
) -> None:
    typed = {"lessons_each": "2", "chance": "0.11", "chances_from": "same"} | {name: value}
    page = shown_again(send(staff, "plan", band, **typed))
    assert '<details id="make" open><summary>Make the plan' in page and "hx-get" not in page
    for each in ("lessons_each", "chance"):
        if typed[each]:
            assert f'value="{typed[each]}"' in field(page, each)
        assert (fault in field(page, each)) == (each == name)
    assert re.search(r'value="same"[^>]* selected', field(page, "chances_from"))
    assert not BackupPlan.objects.exists()


def test_a_plan_below_what_is_locked_keeps_what_was_typed(staff: Client, band: Band) -> None:
    plan = BackupPlan.objects.create(event=band.event)
    for spot in ("1-2", "1-3"):
        Lesson.objects.create(
            plan=plan, member=band.members["Jon Pell"], spot=band.spots[spot], locked=True
        )
    page = shown_again(
        send(staff, "plan", band, lessons_each="1", chance="0.11", chances_from="same")
    )
    assert "Somebody already has 2 locked lessons" in page
    assert 'value="1"' in field(page, "lessons_each")
    plan.refresh_from_db()
    assert plan.lessons_each == 3


def test_a_lesson_keeps_what_was_chosen(staff: Client, band: Band) -> None:
    jon, spot = band.members["Jon Pell"].pk, band.spots["1-3"].pk
    for name, value in (("member", ""), ("member", 10**8), ("spot", "abc"), ("spot", "")):
        chosen = {"member": jon, "spot": spot} | {name: value}
        page = formed(send(staff, "lesson-add", band, **chosen))
        assert "Give somebody a spot to learn" in page
        kept, other = ("spot", spot) if name == "member" else ("member", jon)
        assert f'value="{other}" selected' in field(page, kept)
        assert "errorlist" in field(page, name) and "errorlist" not in field(page, kept)
    assert not Lesson.objects.exists()


def test_a_lesson_that_is_refused_keeps_what_was_chosen(staff: Client, band: Band) -> None:
    holder, spot = band.members["Cai Ørnberg"], band.spots["1-3"]
    spot.holdings.all().delete()
    spot.holdings.create(member=holder, starts=band.season.starts)
    page = formed(send(staff, "lesson-add", band, member=holder.pk, spot=spot.pk))
    assert "holds 1-3" in page
    assert f'value="{holder.pk}" selected' in field(page, "member")
    assert f'value="{spot.pk}" selected' in field(page, "spot")


def test_the_address_of_the_form_leads_to_the_page(staff: Client, band: Band) -> None:
    """A page shown under it is loaded again, or come back to after signing in."""
    response = staff.get(reverse("plan", args=[band.event.pk]))
    assert response.status_code == 302
    assert response["Location"] == reverse("backups-of", args=[band.event.pk])


def test_without_a_lineup_there_is_no_form_to_show(band: Band, cast: Cast) -> None:
    response = send(client_of(cast, "staff"), "plan", band, lessons_each="7")
    assert response.status_code == 302 and not BackupPlan.objects.exists()
