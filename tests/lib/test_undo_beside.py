"""Beside what was just done stands Undo, where the history can take it back; never elsewhere."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.absences.models import Absence
from drill.backups.services.backups import make_first_backup
from drill.events.models import Event
from drill.lineup.models import Backup, Lineup, Pin
from drill.lineup.services.drafts import open_draft
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]
UNDO = re.compile(r'<form class="undo".*?name="batch" value="([\w-]+)".*?name="next" value="(.*?)"')
HTMX = {"HX-Request": "true"}


def did(client: Client, name: str, /, *args: Any, **data: Any) -> tuple[str, dict[str, str] | None]:
    """What the page says after a form was sent, and what its Undo sends, if it has one."""
    page = client.post(reverse(name, args=args), data, follow=True)
    said = page.content.decode().partition('<div id="messages">')[2].partition("</div></div>")[0]
    found = UNDO.search(said)
    return said, dict(zip(("batch", "next"), found.groups(), strict=True)) if found else None


def undo(client: Client, form: dict[str, str]) -> tuple[str, dict[str, str] | None]:
    return did(client, "take-back", **form)


def test_what_was_just_done_is_undone_where_it_is_said(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    staff, spot = signed_in(cast.staff), band.spots["1-3"]
    jon = band.members["Jon Pell"]
    said, form = did(staff, "spot-backups", spot.pk, member=jon.pk)
    assert "Jon Pell is a backup" in said and form is not None
    assert form["next"] == reverse("spot", args=[spot.pk])
    assert Backup.objects.filter(spot=spot).exists()
    said, again = undo(staff, form)
    assert "Taken back" in said and again is None, "taking back is not taken back"
    assert not Backup.objects.filter(spot=spot).exists()
    assert "cannot be taken back" in undo(staff, form)[0]
    assert 'class="undo"' not in staff.get(form["next"]).content.decode(), "said once"


def test_an_order_and_a_placement_are_undone(band: Band, cast: Cast, signed_in: SignIn) -> None:
    staff, seat = signed_in(cast.staff), (band.event.pk, band.halftime.pk, band.spots["1-3"].pk)
    draft = open_draft(actor=cast.staff, event=band.event)
    rows = sorted(draft.rows.values_list("segment", "spot", "member"))
    jon = band.members["Jon Pell"]
    _, form = did(staff, "place", *seat, member=jon.pk, version=draft.version)
    assert form is not None and sorted(draft.rows.values_list("segment", "spot", "member")) != rows
    undo(staff, form)
    assert sorted(draft.rows.values_list("segment", "spot", "member")) == rows
    _, form = did(staff, "order", *seat, member=jon.pk, kind="pin", what="pin")
    assert form is not None and Pin.objects.exists()
    undo(staff, form)
    assert not Pin.objects.exists()


def test_undo_is_refused_once_somebody_used_it(band: Band, cast: Cast, signed_in: SignIn) -> None:
    staff, spot = signed_in(cast.staff), band.spots["1-3"]
    did(staff, "spot-backups", spot.pk, member=band.members["Ida Voss"].pk)
    _, form = did(staff, "spot-backups", spot.pk, member=band.members["Jon Pell"].pk)
    assert form is not None
    jons = Backup.objects.get(member=band.members["Jon Pell"])
    make_first_backup(actor=cast.director, backup=jons)
    assert "has used it since" in undo(staff, form)[0]
    assert Backup.objects.filter(spot=spot).count() == 2


def test_what_had_a_page_of_its_own_leads_on(band: Band, cast: Cast, signed_in: SignIn) -> None:
    staff = signed_in(cast.staff)
    _, form = did(staff, "event-copy", band.event.pk, name="Away", date="2099-11-07")
    made = Event.objects.exclude(pk=band.event.pk).get()
    assert form is not None and form["next"] == reverse("event", args=[made.pk])
    answer = staff.post(reverse("take-back"), form, follow=True)
    assert not Event.objects.filter(pk=made.pk).exists()
    assert answer.status_code == 200 and "Taken back" in answer.content.decode()
    assert staff.get(form["next"]).status_code == 404


def test_nothing_that_left_is_offered_for_undo(band: Band, cast: Cast, signed_in: SignIn) -> None:
    """A publication, a job that computes, a setting that did not change, another's account."""
    director = signed_in(cast.director)
    draft = open_draft(actor=cast.staff, event=band.event)
    said, form = did(director, "publish", band.event.pk, version=draft.version, number="")
    assert "is published" in said and form is None and Lineup.objects.filter(number=1).exists()
    said, form = did(director, "plan", band.event.pk, capacity=2, minutes=20)
    assert form is None
    before = AuditEntry.objects.count()
    said, form = did(director, "take-back", batch=AuditEntry.objects.latest("pk").batch)
    assert form is None and AuditEntry.objects.count() == before


def test_members_are_offered_their_own_ways_only(band: Band, cast: Cast, signed_in: SignIn) -> None:
    member = signed_in(cast.member)
    page = member.post(
        reverse("my-absences"), {"kind": "out", "event": band.event.pk}, follow=True
    ).content.decode()
    assert Absence.objects.exists() and 'class="undo"' not in page and "Withdraw" in page
    batch = AuditEntry.objects.exclude(batch="").latest("pk").batch
    assert member.post(reverse("take-back"), {"batch": batch}).status_code == 403
    assert Absence.objects.exists()


def test_a_part_of_a_page_says_it_in_the_same_place(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    """A refusal to htmx changes nothing but what is said; a part brings what waits."""
    staff, spot = signed_in(cast.staff), band.spots["1-3"]
    url, jon = reverse("spot-backups", args=[spot.pk]), band.members["Jon Pell"].pk
    staff.post(url, {"member": jon})
    part = staff.get(url, headers=HTMX).content.decode()
    assert "<body" not in part and '<div id="messages"><div class="note good"' in part
    assert 'class="undo"' in part
    refused = staff.post(url, {"member": jon}, headers=HTMX)
    assert refused["HX-Reswap"] == "none"
    assert refused.content.decode().startswith('<div id="messages"><div class="note bad"')
    assert Backup.objects.filter(spot=spot).count() == 1
