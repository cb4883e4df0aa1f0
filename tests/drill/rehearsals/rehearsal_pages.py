"""A rehearsal of the small band on its pages."""

from __future__ import annotations

import html
import uuid
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.absences.models import Absence
from drill.events.models import Event
from tests.answers import without_times
from tests.architecture.markup import Markup
from tests.drill.rehearsals.rehearsing import DAY, add_sets, clock, make_rehearsal, tidewheel
from tests.factories import Band


@pytest.fixture
def rehearsal(band: Band) -> Iterator[Event]:
    """Seven in the evening; Eno is reported out for reasons of staff's."""
    add_sets(tidewheel(band), "1", "2", "2A")
    Absence.objects.create(
        member=band.members["Eno Farrow"],
        from_date=DAY,
        until_date=DAY,
        kind="out",
        category="family",
    )
    event = make_rehearsal(band)
    with clock(19):
        yield event


def url(name: str, event: Event) -> str:
    return reverse(name, args=[event.pk])


def text(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, address
    page = response.content.decode()
    assert not Markup(page).faults
    return without_times(html.unescape(page))


def note(client: Client, event: Event, band: Band, name: str, state: str, **more: object) -> int:
    data = {"member": band.members[name].pk, "state": state, "key": uuid.uuid4(), **more}
    return client.post(url("attendance-note", event), data).status_code


def assistant_account(band: Band) -> User:
    """Bo is the assistant leader of rank 1."""
    person = band.members["Bo Larkspur"].person
    person.user = User.objects.create_user(person.email, person.name)
    person.save()
    return person.user


def row_of(page: str, band: Band, name: str) -> str:
    start = page.index(f'<li id="m{band.members[name].pk}"')
    return page[start : page.index("</li>", start)]
