"""S9: a drill written for hashes at 60 ft is marched on fields with other hashes."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.events.models import Event
from drill.events.services.refield import changed_texts
from drill.field.core.field import units
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from tests.architecture.many import write_lineup
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

RULES = "NCAA Rule 1-2-1, NFHS Rule 1-2-3, NFL Rule 1: hashes at 60 ft, 53 ft 4 in, 70 ft 9 in"
DEPTHS = {"1-3": units(40), "1-2": units(10), "1-10": units(32)}
"""8 behind the front hash, 10 behind the front sideline, on the front hash"""


@pytest.fixture
def drilled(band: Band, cast: Cast) -> Band:
    """Two sets of the halftime show; in the second everybody is near the front sideline."""
    show = Show.objects.get(name="Tidewheel")
    version = ShowVersion.objects.create(show=show, label="one", order=1)
    for order in (1, 2):
        made = DrillSet.objects.create(version=version, order=order, label=str(order), counts=16)
        for label, y in DEPTHS.items():
            dot, _ = Dot.objects.get_or_create(show=show, label=label)
            Position.objects.create(set=made, dot=dot, x=-units(8), y=y if order == 1 else units(4))
    return band


def rows(page: str) -> list[list[str]]:
    """The cells of every row of the page's tables, without the heads."""
    found = []
    for row in re.findall(r"<tr>(.*?)</tr>", page.split("<main", 1)[1], re.DOTALL):
        cells = re.findall(r"<t[hd](?: scope=\"row\")?>(.*?)</t[hd]>", row, re.DOTALL)
        found.append([unescape(re.sub(r"<[^>]+>", "", cell)).strip() for cell in cells])
    return [cells for cells in found if cells and cells[0] != "Dot"]


def change_field(client: Client, event: Event, name: str) -> None:
    """The event's field, chosen on its own form."""
    form = client.get(reverse("event-edit", args=[event.pk])).context["form"]
    data = {bound.name: bound.value() for bound in form if bound.value() is not None}
    data |= {"field_type": name, "date": f"{event.date}", "cut_off": ""}
    assert client.post(reverse("event-edit", args=[event.pk]), data).status_code == 302


@pytest.mark.source(RULES)
@pytest.mark.parametrize(
    ("field", "label", "expected"),
    [
        (
            "70 ft 9 in",
            "Pro (70 ft 9 in)",
            [
                ["1-3", "8 behind the front hash", "2.25 behind the front hash", "2.27 behind"],
                ["1-10", "on the front hash", "5.75 in front of the front hash", "5.73 in front"],
            ],
        ),
        (
            "53 ft 4 in",
            "High school (53 ft 4 in)",
            [
                ["1-3", "8 behind the front hash", "11.5 behind the front hash", "11.56 behind"],
                ["1-10", "on the front hash", "3.5 behind the front hash", "3.56 behind"],
            ],
        ),
    ],
)
def test_the_texts_that_change_are_listed(
    drilled: Band,
    cast: Cast,
    signed_in: Callable[[User | None], Client],
    field: str,
    label: str,
    expected: list[list[str]],
) -> None:
    staff, event = signed_in(cast.staff), drilled.event
    url = reverse("event-texts", args=[event.pk])
    assert url not in staff.get(reverse("event", args=[event.pk])).content.decode()
    assert "nothing changes" in staff.get(url).content.decode()

    change_field(staff, event, field)
    page = staff.get(reverse("event", args=[event.pk])).content.decode()
    assert url in page
    assert f"Field: {label}." in page
    listed = staff.get(url).content.decode()
    assert rows(listed) == expected
    assert "Set 1" in listed and "<h3>Set 2" not in listed
    assert "2 texts change, 4 stay." in listed

    event.refresh_from_db()
    write_lineup(event, cast.staff, 1)
    card = signed_in(cast.member).get(reverse("card-of", args=[event.pk]))
    assert expected[0][2] in card.content.decode()
    assert all(p.y in (*DEPTHS.values(), units(4)) for p in Position.objects.all())


def test_the_show_s_own_field_counts(
    drilled: Band, cast: Cast, signed_in: Callable[[User | None], Client]
) -> None:
    """On the field it is written for nothing changes; nothing is written by looking."""
    staff, event = signed_in(cast.staff), drilled.event
    change_field(staff, event, "70 ft 9 in")
    before = AuditEntry.objects.count()
    staff.get(reverse("event-texts", args=[event.pk]))
    assert AuditEntry.objects.count() == before
    show = Show.objects.get(name="Tidewheel")
    edit = reverse("show-edit", args=[show.pk])
    assert staff.post(edit, {"name": show.name, "field_type": "70 ft 9 in"}).status_code == 302
    assert "nothing changes" in staff.get(reverse("event-texts", args=[event.pk])).content.decode()


def test_long_lists_come_a_set_at_a_time(
    drilled: Band,
    cast: Cast,
    signed_in: Callable[[User | None], Client],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("drill.events.views.field.FEW", 3)
    staff, event = signed_in(cast.staff), drilled.event
    Position.objects.filter(set__label="2").update(y=units(41))
    Event.objects.filter(pk=event.pk).update(field_type="70 ft 9 in")
    url = reverse("event-texts", args=[event.pk])
    assert len(rows(staff.get(url).content.decode())) == 2
    assert len(rows(staff.get(url, {"set": "all"}).content.decode())) == 5
    second = DrillSet.objects.get(label="2").pk
    assert len(rows(staff.get(url, {"set": second}).content.decode())) == 3
    assert rows(staff.get(url, {"set": "²"}).content.decode()) == []


def test_as_many_questions_for_many_dots(
    drilled: Band, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    Event.objects.filter(pk=drilled.event.pk).update(field_type="70 ft 9 in")
    show = Show.objects.get(name="Tidewheel")
    first = DrillSet.objects.get(label="1")
    for number in range(40):
        dot = Dot.objects.create(show=show, label=f"9-{number}")
        Position.objects.create(set=first, dot=dot, x=0, y=units(40))
    event = (
        Event.objects.select_related("season")
        .prefetch_related("segments__show")
        .get(pk=drilled.event.pk)
    )
    with django_assert_max_num_queries(7):
        (texts,) = changed_texts(event)
    assert texts.count == 42
