"""Absences through their pages: a form that comes twice is one entry."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from drill.absences.enums import AbsenceState
from drill.absences.models import Absence
from drill.absences.services import absences as services
from drill.absences.services.absences import Report, report_once
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("a form sent twice meets a unique key")]
AGAIN = "This was already sent; it is {} now."
FORMS = [
    ("my-absences", "member", "reported"),
    ("absence-new", "staff", "confirmed"),
    ("rank-report", "leader", "reported"),
]


def filled(client: Client, name: str, band: Band) -> dict[str, Any]:
    """What the browser sends: the page's own key and what was chosen."""
    page = client.get(reverse(name)).content.decode()
    [key] = re.findall(r'<input type="hidden" name="key" value="([^"]+)">', page)
    member = band.members["Cai Ørnberg"].pk
    return {"key": key, "member": member, "kind": "out", "event": band.event.pk}


def said(client: Client, name: str, data: dict[str, Any]) -> str:
    response = client.post(reverse(name), data, follow=True)
    assert response.status_code == 200
    return " ".join(str(message) for message in response.context["messages"])


@pytest.mark.parametrize(("name", "role", "state"), FORMS)
def test_a_form_sent_twice_is_one_entry(
    band: Band, cast: Cast, name: str, role: str, state: str
) -> None:
    client = client_of(cast, role)
    data = filled(client, name, band)
    assert "already" not in said(client, name, data)
    assert said(client, name, data) == AGAIN.format(state)
    entry = Absence.objects.get()
    assert (entry.member, entry.state) == (band.members["Cai Ørnberg"], state)
    Absence.objects.update(state=AbsenceState.WITHDRAWN)
    assert said(client, name, data) == AGAIN.format("withdrawn"), "nobody relies on it"


@pytest.mark.parametrize(("name", "role", "state"), FORMS)
def test_a_form_mended_and_sent_again_is_another_entry(
    band: Band, cast: Cast, name: str, role: str, state: str
) -> None:
    """The browser's Back brings the old key: what was changed in the form must not be lost."""
    client = client_of(cast, role)
    data = filled(client, name, band)
    said(client, name, data)
    mended = data | {"kind": "late", "late_until": "14:00"}
    assert "already" not in said(client, name, mended)
    assert Absence.objects.latest("pk").kind == "late" and Absence.objects.count() == 2
    assert said(client, name, filled(client, name, band) | {"kind": "limited"})
    assert Absence.objects.count() == 3, "and a new page is a new entry"


def test_keys_of_one_do_not_stop_another(band: Band, cast: Cast) -> None:
    report = Report(band.members["Cai Ørnberg"], {"kind": "out", "event": band.event})
    key = uuid.uuid4()
    for actor in (cast.member, cast.leader):
        assert report_once(actor=actor, report=report, by_staff=False, key=key)[1]


def test_two_sends_at_once_are_one_entry(
    band: Band, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The other one comes in just before this one's transaction begins."""
    report = Report(band.members["Cai Ørnberg"], {"kind": "out", "event": band.event})
    key, real = uuid.uuid4(), recorded
    first: list[tuple[Absence, bool]] = []

    def send() -> tuple[Absence, bool]:
        return report_once(actor=cast.member, report=report, by_staff=False, key=key)

    @contextmanager
    def late(actor: User, action: str) -> Iterator[str]:
        monkeypatch.setattr(services, "recorded", real)
        first.append(send())
        with real(actor, action) as batch:
            yield batch

    monkeypatch.setattr(services, "recorded", late)
    entry, is_new = send()
    assert first == [(entry, True)] and not is_new
    assert Absence.objects.get() == entry


def test_what_others_entered_is_not_what_one_reported(band: Band, cast: Cast) -> None:
    client, me = client_of(cast, "member"), band.members["Cai Ørnberg"]
    report = Report(me, {"kind": "out", "event": band.event})
    report_once(actor=cast.staff, report=report, by_staff=True, key=None)
    mine = client.get(reverse("my-absences")).content.decode()
    own, _, others = mine.partition("What others entered for me")
    assert (
        "confirmed" in others and "confirmed" not in own and "You have not reported anything" in own
    )
    report_once(actor=cast.member, report=report, by_staff=False, key=None)
    mine = client.get(reverse("my-absences")).content.decode()
    own, _, others = mine.partition("What others entered for me")
    assert "reported" in own.partition("What I reported")[2] and "confirmed" in others
    Absence.objects.filter(reported_by=cast.staff).delete()
    assert "What others entered" not in client.get(reverse("my-absences")).content.decode()


def test_the_same_said_again_is_one_entry_and_anything_else_is_another(
    band: Band, cast: Cast
) -> None:
    member = band.members["Cai Ørnberg"]

    def entered(actor: User, **more: object) -> Absence:
        report = Report(member, {"kind": "out", "event": band.event, **more})
        return services.report_absence(actor=actor, report=report, by_staff=actor == cast.staff)

    first = entered(cast.member)
    assert entered(cast.member) == first and Absence.objects.count() == 1
    assert entered(cast.member, kind="doubtful") != first
    again = entered(cast.member)
    assert again != first, "something else was said in between"
    health = entered(cast.staff, category="health")
    assert health != again, "somebody else says it"
    assert entered(cast.staff, category="health") == health
    other = entered(cast.staff, category="class")
    assert other.category == "class" and other != health, "a corrected category is kept"
    services.withdraw_absence(actor=cast.staff, absence=other)
    assert entered(cast.staff, category="class") != other, "it was withdrawn"
