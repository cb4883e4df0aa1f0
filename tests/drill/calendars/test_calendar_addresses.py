"""Calendar addresses: whose, how long, and what of them is noted."""

from __future__ import annotations

import datetime

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.calendars.models import CalendarFeed
from drill.calendars.services.calendars import address_of
from drill.events.models import Event
from drill.events.services import events as event_services
from roster.people.enums import MemberStatus
from roster.people.models import Member, RoleGrant
from tests.architecture.world import client_of
from tests.drill.calendars.calendar_reading import feed_url
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("days and moments are compared")]


def test_an_address_is_made_shown_and_switched_off(cast: Cast) -> None:
    client, page = client_of(cast, "member"), reverse("calendar")
    assert "You have no calendar address" in client.get(page).content.decode()
    assert not CalendarFeed.objects.exists(), "looking makes nothing"
    client.post(page, {"what": "new"})
    feed = CalendarFeed.objects.get()
    assert feed.user == cast.member and len(feed.token) >= 43
    assert address_of(feed) in client.get(page).content.decode()
    assert Client().get(reverse("calendar-feed", args=[feed.token])).status_code == 200
    client.post(page, {"what": "off", "feed": feed.pk})
    assert Client().get(reverse("calendar-feed", args=[feed.token])).status_code == 404
    assert "You have no calendar address" in client.get(page).content.decode()


def test_a_new_address_ends_the_old_one_and_a_form_sent_twice_makes_one(cast: Cast) -> None:
    client, page = client_of(cast, "member"), reverse("calendar")
    client.post(page, {"what": "new"})
    old = CalendarFeed.objects.get()
    for _ in range(2):
        client.post(page, {"what": "new", "feed": old.pk})
    assert CalendarFeed.objects.filter(user=cast.member).count() == 2
    new = CalendarFeed.objects.get(revoked_at=None)
    assert new.token != old.token
    codes = [Client().get(reverse("calendar-feed", args=[f.token])) for f in (old, new)]
    assert [response.status_code for response in codes] == [404, 200]


def test_nobody_touches_the_address_of_another(cast: Cast) -> None:
    theirs = CalendarFeed.objects.create(user=cast.other)
    client, page = client_of(cast, "member"), reverse("calendar")
    for what in ("new", "off", "?"):
        client.post(page, {"what": what, "feed": theirs.pk})
    assert theirs.token not in client.get(page).content.decode()
    theirs.refresh_from_db()
    assert theirs.revoked_at is None


def test_the_audit_notes_it_without_the_token(cast: Cast) -> None:
    client_of(cast, "member").post(reverse("calendar"), {"what": "new"})
    (entry,) = AuditEntry.objects.filter(table="calendars_calendarfeed")
    assert (entry.action, entry.actor_id) == ("make calendar address", cast.member.pk)
    assert CalendarFeed.objects.get().token not in f"{entry.before}{entry.after}"


@pytest.mark.parametrize("token", ["x", "a" * 43, "%00", "..", "a" * 5000])
def test_an_unknown_address_is_not_found(cast: Cast, token: str) -> None:
    assert Client().get(f"/calendar/{token}.ics").status_code == 404


def test_whoever_is_gone_has_no_calendar(band: Band, cast: Cast) -> None:
    readers = {"member": cast.member, "staff": cast.staff, "leader": cast.leader}
    urls = {name: feed_url(user) for name, user in readers.items()}
    client = Client()
    assert [client.get(url).status_code for url in urls.values()] == [200] * 3
    Member.objects.filter(person__user=cast.member).update(status=MemberStatus.LEFT)
    RoleGrant.objects.filter(user=cast.staff).delete()
    User.objects.filter(pk=cast.leader.pk).update(is_active=False)
    assert [client.get(url).status_code for url in urls.values()] == [404] * 3


def test_an_answer_that_did_not_change_is_not_sent_again(band: Band, cast: Cast) -> None:
    url = feed_url(cast.member)
    first = Client().get(url)
    assert first["Content-Type"] == "text/calendar; charset=utf-8"
    assert first["Cache-Control"] == "private, no-cache"
    assert "Cookie" not in first.get("Vary", "")
    with time_machine.travel(timezone.now() + datetime.timedelta(days=40)):
        again = Client().get(url, headers={"if-none-match": first["ETag"]})
        assert (again.status_code, again.content) == (304, b"")
        assert Client().get(url).content == first.content, "the same data, the same bytes"
    event_services.save_event(actor=cast.staff, event=_renamed(band.event))
    third = Client().get(url, headers={"if-none-match": first["ETag"]})
    assert third.status_code == 200 and third["ETag"] != first["ETag"]


def _renamed(event: Event) -> Event:
    event.name = "Pellowick, moved to Sunday"
    return event
