"""Entered as out, and marching after all: said at the desk, where a request was declined too."""

from __future__ import annotations

import datetime
import uuid

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from drill.absences.enums import AbsenceState
from drill.absences.models import Absence
from drill.absences.services.standings import standings_of
from drill.events.models import Event
from drill.gameday.models import FillRequest
from drill.gameday.services.missing import missing
from drill.gameday.services.not_out import not_out
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.gameday.gameday_desk import opened, out
from tests.drill.rehearsals.rehearsing import clock
from tests.factories import Band, Cast
from tests.factories.band import GAME_DAY

__all__ = ["out"]

pytestmark = pytest.mark.django_db
CAI = "Cai Ørnberg"
BUTTON = f'aria-label="{CAI} is not out after all"'


def entered(band: Band, **more: object) -> Absence:
    said = {"event": band.event, "kind": "out"} | more
    return Absence.objects.create(member=band.members[CAI], **said)


def desk(client: Client, band: Band) -> str:
    return text(client.get(reverse("desk-of", args=[band.event.pk])))


def press(client: Client, band: Band) -> str:
    address = reverse("desk-not-out", args=[band.event.pk, band.members[CAI].pk])
    return text(client.post(address, follow=True))


def test_every_entry_that_says_so_is_withdrawn_and_audited(out: Band, cast: Cast) -> None:
    entries = [entered(out, state="reported"), entered(out)]
    staff = client_of(cast, "staff")
    assert BUTTON in desk(staff, out)
    page = press(staff, out)
    assert f"{CAI} is not out after all. Nobody moves by it." in page and BUTTON not in page
    assert missing(opened(out)) == []
    for entry in entries:
        entry.refresh_from_db()
        assert entry.state == AbsenceState.WITHDRAWN
    assert AuditEntry.objects.filter(action="not out after all").exists()


def test_an_absence_of_more_days_stays_for_the_others(out: Band, cast: Cast) -> None:
    until = GAME_DAY + datetime.timedelta(days=7)
    entry = entered(out, event=None, from_date=GAME_DAY, until_date=until)
    not_out(actor=cast.staff, event=out.event, member=out.members[CAI])
    entry.refresh_from_db()
    assert entry.state == AbsenceState.CONFIRMED
    assert Absence.objects.latest("pk").kind == "in" and missing(opened(out)) == []


def test_what_is_over_they_have_missed(out: Band, cast: Cast) -> None:
    entered(out)
    with clock(15, 0, GAME_DAY):
        not_out(actor=cast.staff, event=out.event, member=out.members[CAI])
        found = standings_of(out.event, out.members[CAI])
        assert {s.name for s in (out.pregame, out.halftime) if found[s.pk].word} == {"Pregame"}
        with pytest.raises(Refused, match="is not marked out"):
            not_out(actor=cast.staff, event=out.event, member=out.members[CAI])


def test_who_may_not_march_at_all_is_not_put_back_like_this(out: Band, cast: Cast) -> None:
    cai = out.members[CAI]
    cai.cleared = "no"
    cai.save()
    page = desk(client_of(cast, "staff"), out)
    assert "not cleared" in page and BUTTON not in page


def test_declining_says_that_the_absence_stands(out: Band, cast: Cast) -> None:
    cut_off = timezone.now() - datetime.timedelta(hours=1)
    Event.objects.filter(pk=out.event.pk).update(cut_off=cut_off)
    form = {
        "out": out.members[CAI].pk,
        "in": out.members["Jon Pell"].pk,
        "number": 1,
        "key": str(uuid.uuid4()),
    }
    client_of(cast, "staff").post(reverse("desk-fill", args=[out.event.pk]), form)
    address = reverse("desk-request-decline", args=[FillRequest.objects.get().pk])
    director = client_of(cast, "director")
    page = text(director.post(address, {"reason": "Cai marches"}, follow=True))
    assert f"{CAI} is still marked out: if not, press" in page
    assert f'{CAI} is still marked out: <a href="#still-in">' in page
    assert f"{CAI} is still marked" not in press(director, out)


def test_said_without_network_it_is_done_once(out: Band, cast: Cast) -> None:
    entered(out)
    staff = client_of(cast, "staff")
    assert f'data-queue="{CAI} is not out after all"' in desk(staff, out)
    address = reverse("desk-not-out", args=[out.event.pk, out.members[CAI].pk])
    headers = {"X-Queued": "later"}
    told = [staff.post(address, headers=headers).json() for _ in range(2)]
    assert [t["state"] for t in told] == ["done", "done"]
    assert missing(opened(out)) == []


def test_what_was_entered_after_it_was_said_stands(out: Band, cast: Cast) -> None:
    entered(out)
    earlier = (timezone.now() - datetime.timedelta(minutes=5)).isoformat()
    staff = client_of(cast, "staff")
    address = reverse("desk-not-out", args=[out.event.pk, out.members[CAI].pk])
    told = staff.post(address, {"noted_at": earlier}, headers={"X-Queued": "later"}).json()
    assert told["state"] == "refused" and "was marked out again at" in told["text"]
    assert [m.word for m in missing(opened(out))] == ["out"]


def test_the_desk_says_what_is_under_way(out: Band, cast: Cast) -> None:
    with clock(13, 59, GAME_DAY):
        page = desk(client_of(cast, "staff"), out)
    assert "<h1>Game day</h1>" in page and ">now</span>" not in page
    with clock(14, 1, GAME_DAY):
        assert ">now</span> Pregame, 2:00 to 2:20 PM" in desk(client_of(cast, "staff"), out)
