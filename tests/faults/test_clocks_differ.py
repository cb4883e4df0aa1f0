"""Phones, web servers and workers whose clocks are wrong."""

from __future__ import annotations

import datetime
import re
import uuid
from collections import Counter
from typing import Any

import pytest
import time_machine
from django.core import mail as django_mail
from django.db import connection
from django.dispatch import Signal
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.audit.clock import audit_now
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import job_claimed, job_prepared, run_job
from drill.publishing.models import Notice
from drill.rehearsals.models import Attendance
from roster.people.enums import Role
from roster.people.models import RoleGrant, Season
from tests.architecture.world import World
from tests.conftest import BACKEND
from tests.factories import Cast
from tests.faults.acting import made, publish
from tests.stories.hand import PageReader

__all__ = ["made"]

pytestmark = pytest.mark.django_db(transaction=True)
MINUTES = (-7, -1, 1, 7)


def client_of(user: Any) -> Client:
    client = Client()
    client.force_login(user, backend=BACKEND)
    return client


def off_by(minutes: float) -> Any:
    """This process's clock is wrong by so much; the database's is not."""
    now = datetime.datetime.now(datetime.UTC) + datetime.timedelta(minutes=minutes)
    return time_machine.travel(now, tick=True)


@pytest.mark.parametrize("minutes", MINUTES)
def test_a_server_by_its_own_clock_overwrites_nothing_unseen(
    made: tuple[World, Cast], minutes: int
) -> None:
    """A page of one server is saved through another after somebody else saved: the moment it was
    read is by the database's clock, whichever server made it."""
    _, cast = made
    url = reverse("season")
    with off_by(minutes):
        client = client_of(cast.director)
        page = client.get(url).content.decode()
    form = dict(re.findall(r'name="(\w+)"[^>]*? value="([^"]*)"', page))
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_sleep(2.1)")  # what is younger than the page counts as seen
    with off_by(-minutes):
        saved = _save(made, "Changed by another")
    assert saved == 302
    with off_by(minutes):
        answer = client.post(url, _season_form(client, form["as_of"], "Mine"), follow=True)
    assert "This changed since you opened it" in answer.content.decode()
    assert Season.objects.get(is_current=True).band_name == "Changed by another"


def _season_form(client: Client, as_of: str, band_name: str) -> dict[str, str]:
    """The season's form as it is now, with the moment an older page was read."""
    page = client.get(reverse("season")).content.decode()
    form = next(f for f in PageReader(page).forms if "band_name" in f.data)
    return {k: str(v) for k, v in form.data.items()} | {"as_of": as_of, "band_name": band_name}


def _save(made: tuple[World, Cast], band_name: str) -> int:
    """Another director saves the same field."""
    world, cast = made
    RoleGrant.objects.get_or_create(user=cast.staff, season=world.band.season, role=Role.DIRECTOR)
    client = client_of(cast.staff)
    return client.post(
        reverse("season"), _season_form(client, audit_now().isoformat(), band_name)
    ).status_code


def test_the_audit_s_clock_is_the_databases(transactional_db: None) -> None:
    if connection.vendor != "postgresql":
        pytest.skip("one machine, one clock")
    for minutes in MINUTES:
        with off_by(minutes), connection.cursor() as cursor:
            cursor.execute("SELECT clock_timestamp()")
            (there,) = cursor.fetchone()
            assert abs(audit_now() - there) < datetime.timedelta(seconds=5)
            assert abs(timezone.now() - there) > datetime.timedelta(seconds=50)


@pytest.mark.parametrize("point", [job_claimed, job_prepared], ids=["claimed", "prepared"])
@pytest.mark.parametrize("minutes", [-600, 600])
def test_workers_whose_clocks_differ_store_each_job_once(
    made: tuple[World, Cast], minutes: int, point: Signal
) -> None:
    """While one works, another takes its lease for one that is over: what is made is stored once,
    and a mail goes at least once."""
    world, cast = made
    Job.objects.all().delete()
    publish(world, cast.staff)()
    waiting = Job.objects.filter(done_at=None).values_list("pk", flat=True)
    notices = list(waiting.filter(kind="publishing.notice"))
    pks = notices + list(waiting.filter(kind="publishing.print"))[:1]
    assert len(pks) > len(notices) > 0
    others: list[bool] = []

    def meanwhile(job: Job, **rest: Any) -> None:
        point.disconnect(meanwhile, Job)
        with off_by(minutes):
            others.append(run_job(job.pk))

    for pk in pks:
        point.connect(meanwhile, Job)
        mine = run_job(pk)
        point.disconnect(meanwhile, Job)
        assert mine + others[-1] == 1, "one of them stored it"
    assert any(others) is (minutes > 0), "a clock that is ahead sees leases as over"
    assert not Job.objects.filter(pk__in=pks, done_at=None).exists()
    keys = list(Artifact.objects.values_list("key", flat=True))
    assert len(keys) == len(set(keys))
    sent = Counter(tuple(mail.to) for mail in django_mail.outbox)
    about = Job.objects.filter(pk__in=notices).values_list("payload", flat=True)
    told = Notice.objects.filter(pk__in=[payload["notice"] for payload in about], state="sent")
    assert told.count() == len(notices) and len(sent) >= 1
    assert max(sent.values()) <= 2


@pytest.mark.parametrize("hours", [-30, -2, 2, 30])
def test_a_phone_with_a_wrong_clock_notes_somebody_once(
    made: tuple[World, Cast], hours: int
) -> None:
    """Where its clock cannot be right, the note counts from when it came."""
    world, cast = made
    event = world.rehearsal
    rehearsal_at = event.local(datetime.time(17, 5))
    with time_machine.travel(rehearsal_at, tick=True):
        client = client_of(cast.staff)
        note = {
            "key": str(uuid.uuid4()),
            "member": str(world.member.pk),
            "state": "late",
            "noted_at": (rehearsal_at + datetime.timedelta(hours=hours)).isoformat(),
            "next": "/",
        }
        url = reverse("attendance-note", args=[event.pk])
        for _ in range(2):
            assert client.post(url, note).status_code == 302
    noted = Attendance.objects.get(event=event, key=note["key"])
    assert abs(noted.noted_at - rehearsal_at) < datetime.timedelta(hours=3)
    assert noted.noted_at <= rehearsal_at + datetime.timedelta(minutes=5)
