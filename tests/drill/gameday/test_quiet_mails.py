"""A mail that kept the quiet hours says what holds when it leaves, not when it was written."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
import time_machine
from django.core import mail
from django.core.mail import EmailMessage

from bandops.lib.outbox.models import Job
from bandops.lib.outbox.running import run_job, waiting_jobs
from drill.gameday.services.fills import undo_change
from drill.publishing.enums import NoticeState
from drill.publishing.models import Notice
from tests.drill.gameday.gameday_desk import ask, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("jobs and notices are written at once")]
CAI, IDA, JON = "Cai Ørnberg", "Ida Voss", "Jon Pell"


@pytest.fixture(autouse=True)
def quiet(settings: Any, band: Band) -> None:
    settings.JOBS_RUN_IN = "later"
    season = band.event.season
    season.quiet_from, season.quiet_until = datetime.time(22), datetime.time(7)
    season.save()


def send_at(band: Band, day: int, hour: int, minute: int = 0) -> None:
    with time_machine.travel(when(band, day, hour, minute)):
        mails = Job.objects.filter(pk__in=waiting_jobs(), kind="publishing.notice")
        for pk in mails.order_by("pk").values_list("pk", flat=True):
            run_job(pk)


def when(band: Band, day: int, hour: int, minute: int = 0) -> datetime.datetime:
    return datetime.datetime(2099, 10, day, hour, minute, tzinfo=band.event.zone)


def mails_to(band: Band, name: str) -> list[EmailMessage]:
    address = band.members[name].person.email
    return [m for m in mail.outbox if m.to == [address] and "revision 1" not in m.subject]


def states(band: Band, name: str) -> list[str]:
    rows = Notice.objects.filter(member=band.members[name], lineup__number__gt=1)
    return list(rows.order_by("lineup__number").values_list("state", flat=True))


@pytest.fixture
def filled(out: Band, cast: Cast) -> Band:
    """Late on the evening before, more than twelve hours before the call, Jon is to step in."""
    with time_machine.travel(when(out, 16, 22, 30)):
        ask(out, cast, wish(out, CAI, JON))
    return out


def test_what_a_later_revision_took_back_is_not_mailed_after_it(filled: Band, cast: Cast) -> None:
    """The later one leaves at once, being close to the call; the earlier one has nothing more to
    say at seven."""
    with time_machine.travel(when(filled, 16, 23, 30)):
        undo_change(actor=cast.staff, change=filled.event.day_changes.get())
    send_at(filled, 16, 23, 35)
    [only] = mails_to(filled, JON)
    assert only.subject.endswith("revision 3")
    assert "No longer: Pregame, Halftime 1-3. You do not march" in only.body
    assert "you march" not in only.body
    send_at(filled, 17, 7, 5)
    assert len(mails_to(filled, JON)) == 1
    assert states(filled, JON) == [NoticeState.SENT, NoticeState.SENT]


def test_two_that_waited_the_night_are_one_mail(filled: Band, cast: Cast) -> None:
    with time_machine.travel(when(filled, 16, 22, 40)):
        ask(filled, cast, wish(filled, JON, IDA, 2))
    send_at(filled, 16, 22, 45)
    assert not mails_to(filled, JON) and not mails_to(filled, IDA)
    send_at(filled, 17, 7, 5)
    [jon], [ida] = mails_to(filled, JON), mails_to(filled, IDA)
    assert "revision 3" in jon.subject and "you march" not in jon.body
    assert "Pregame: you march 1-3" in ida.body
    assert set(states(filled, JON) + states(filled, IDA)) == {NoticeState.SENT}


def test_one_that_nothing_overtook_says_what_it_said(filled: Band) -> None:
    send_at(filled, 17, 7, 5)
    [only] = mails_to(filled, JON)
    assert only.subject.endswith("revision 2") and "Halftime: you march 1-3" in only.body


def test_what_was_read_before_is_told_as_no_longer_so(filled: Band, cast: Cast) -> None:
    """Jon saw revision 2 on the card at night: the later mail is about the later news alone."""
    Notice.objects.filter(member=filled.members[JON]).update(state=NoticeState.SEEN)
    with time_machine.travel(when(filled, 16, 23, 30)):
        undo_change(actor=cast.staff, change=filled.event.day_changes.get())
    send_at(filled, 16, 23, 35)
    [only] = mails_to(filled, JON)
    assert "you do not march (was 1-3)" in only.body
