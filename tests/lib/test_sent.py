"""A form sent twice counts once; whoever saves over another's change is told of it first."""

from __future__ import annotations

import datetime
import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.models import SentForm
from bandops.lib.sent.meanwhile import LATE
from drill.events.models import Event
from drill.lineup.services.drafts import open_draft
from roster.people.models import Instrument, Qualification
from tests.conftest import BACKEND
from tests.factories import Band, Cast
from tests.stories.hand import Form, PageReader

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


def form_at(client: Client, name: str, *args: Any, field: str) -> Form:
    """The page's form that has the field, as it stands."""
    page = client.get(reverse(name, args=args)).content.decode()
    return next(f for f in PageReader(page).forms if f.method == "post" and field in f.data)


def settled(data: dict[str, str]) -> dict[str, str]:
    """As from a page opened long enough after what was written for this test."""
    return data | {"as_of": (timezone.now() + LATE).isoformat()}


def said(response: Any) -> str:
    return str(response.content.decode().partition('id="messages"')[2][:3000])


def test_a_second_editor_reads_what_changed_and_loses_nothing(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    first, second = signed_in(cast.staff), signed_in(cast.director)
    url = reverse("event-edit", args=[band.event.pk])
    mine = form_at(first, "event-edit", band.event.pk, field="name").data
    theirs = form_at(second, "event-edit", band.event.pk, field="name").data
    assert second.post(url, theirs | {"name": "The Late Game"}).status_code == 302
    answer = first.post(url, mine | {"name": "The Early Game"})
    text = answer.content.decode()
    assert answer.status_code == 200 and "This changed since you opened it" in text
    assert "Director changed name of event: The Late Game" in text and "to The Late Game" in text
    assert 'value="The Early Game"' in text, "what was entered is still there"
    assert Event.objects.get(pk=band.event.pk).name == "The Late Game", "and not saved yet"
    (again,) = (f.data for f in PageReader(text).forms if "as_of" in f.data and "name" in f.data)
    assert first.post(url, again).status_code == 302, "told once, then it is their decision"
    assert Event.objects.get(pk=band.event.pk).name == "The Early Game"


def test_other_columns_of_the_same_row_do_not_stand_in_the_way(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    first, second = signed_in(cast.staff), signed_in(cast.director)
    mine = form_at(first, "field", field="as_of").data
    limits = form_at(second, "move-limits", field="closest_gap").data
    url = reverse("move-limits")
    assert second.post(url, limits | {"closest_gap": "0.75"}).status_code == 302
    changed = mine | {"precision": "sixteenth"}
    assert first.post(reverse("field"), changed).status_code == 302


def test_what_was_changed_and_changed_back_is_no_change(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    first, second = signed_in(cast.staff), signed_in(cast.director)
    url = reverse("event-edit", args=[band.event.pk])
    mine = form_at(first, "event-edit", band.event.pk, field="name").data
    for name in ("Another", mine["name"]):
        theirs = form_at(second, "event-edit", band.event.pk, field="name").data
        assert second.post(url, theirs | {"name": name}).status_code == 302
    assert first.post(url, mine | {"name": "Mine"}).status_code == 302


def test_one_who_saves_twice_is_not_told_of_their_own(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    client = signed_in(cast.staff)
    url = reverse("event-edit", args=[band.event.pk])
    data = form_at(client, "event-edit", band.event.pk, field="name").data
    for name in ("One", "Two"):
        assert client.post(url, data | {"name": name}).status_code == 302


def test_half_of_a_member_is_not_saved(band: Band, cast: Cast, signed_in: SignIn) -> None:
    """Names and parts are one form: where the parts were changed by another, neither is."""
    first, second = signed_in(cast.staff), signed_in(cast.director)
    jon = band.members["Jon Pell"]
    url = reverse("member-edit", args=[jon.pk])
    mine = form_at(first, "member-edit", jon.pk, field="legal_name").data
    parts = {q.part_id for q in Qualification.objects.filter(member=jon)}
    other = next(p for p in band.parts.values() if p.pk not in parts)
    assert second.post(url, settled(mine) | {"doubles": str(other.pk)}).status_code == 302
    answer = first.post(url, mine | {"used_name": "Jonny"})
    jon.person.refresh_from_db()
    assert "This changed since you opened it" in answer.content.decode()
    assert jon.person.used_name != "Jonny"


def test_the_same_form_twice_adds_one(band: Band, cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.staff, backend=BACKEND)
    data = form_at(client, "instrument-new", field="name").data | {"name": "Glass horn"}
    first = client.post(reverse("instrument-new"), data)
    again = client.post(reverse("instrument-new"), data, follow=True)
    assert first.status_code == 302
    assert again.redirect_chain[0][0] == first["Location"], "to where the first one led"
    assert "counts once" in said(again)
    assert Instrument.objects.filter(name="Glass horn").count() == 1
    other = client.post(reverse("instrument-new"), data | {"name": "Tin horn"})
    assert other.status_code == 302, "another one from the same page counts"
    assert Instrument.objects.filter(name="Tin horn").exists()


def test_a_part_of_a_page_counts_once_a_press(band: Band, cast: Cast, signed_in: SignIn) -> None:
    client = signed_in(cast.staff)
    jon, spot = band.members["Jon Pell"], band.spots["1-3"]
    url = reverse("spot-backups", args=[spot.pk])
    for _ in range(2):
        answer = client.post(url, {"member": jon.pk}, headers={"HX-Request": "true", "X-Sent": "1"})
        assert answer.status_code in (200, 302)
    assert "counts once" in said(answer)
    later = client.post(url, {"member": jon.pk}, headers={"HX-Request": "true", "X-Sent": "2"})
    assert "already" in later.content.decode(), "another press is asked anew"


def test_what_was_refused_may_be_sent_again(band: Band, cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.staff, backend=BACKEND)
    data = form_at(client, "instrument-new", field="name").data | {"name": "Glass horn"}
    made = Instrument.objects.create(season=band.season, name="Glass horn", order=99)
    assert client.post(reverse("instrument-new"), data).status_code == 200, "there is one"
    made.delete()
    assert client.post(reverse("instrument-new"), data).status_code == 302


def test_what_a_view_refused_with_a_redirect_may_be_sent_again(band: Band, cast: Cast) -> None:
    """Nothing was saved, so nothing is said to be saved."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.staff, backend=BACKEND)
    open_draft(actor=cast.staff, event=band.event)
    url = reverse("publish", args=[band.event.pk])
    data = form_at(client, "publish", band.event.pk, field="version").data | {"version": "999"}
    for _ in range(2):
        answer = client.post(url, data, follow=True)
        assert answer.redirect_chain and "counts once" not in answer.content.decode()
    assert not SentForm.objects.exists()


def test_keys_are_forgotten_after_three_days(band: Band) -> None:
    SentForm.objects.create(key="old")
    SentForm.objects.update(at=timezone.now() - datetime.timedelta(days=4))
    SentForm.objects.create(key="new")
    call_command("sweep_jobs")
    assert list(SentForm.objects.values_list("key", flat=True)) == ["new"]


@pytest.mark.django_db(transaction=True)
@pytest.mark.postgres("two at once wait for one another by its unique index")
def test_two_at_once_count_once(band: Band, cast: Cast) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.staff, backend=BACKEND)
    data = form_at(client, "rank-new", field="label").data | {"label": "Z"}
    before = AuditEntry.objects.count()
    codes: list[int] = []

    def send() -> None:
        other = Client(enforce_csrf_checks=True)
        other.cookies = client.cookies
        codes.append(other.post(reverse("rank-new"), data).status_code)
        connection.close()

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert codes == [302] * 4
    assert AuditEntry.objects.count() == before + 1
    assert band.season.ranks.filter(label="Z").count() == 1
