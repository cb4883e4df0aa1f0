"""The history is found by member, by who did it, by kind and by day; and who looked at what."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.absences.services.absences import Report, report_absence
from drill.backups.services.backups import add_backup, remove_backup
from drill.lineup.services.orders import lift_order, pin_member
from tests.answers import text
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("the audit's JSON is searched")]
SignIn = Callable[[User | None], Client]


def said(client: Client, **asked: str | int) -> list[str]:
    page = client.get(reverse("history"), asked)
    assert page.status_code == 200
    return [f"{action.by} {action.said}" for action, _ in page.context["actions"]]


def test_actions_are_found_by_whom_they_touch(band: Band, cast: Cast, signed_in: SignIn) -> None:
    jon, ida, spot = band.members["Jon Pell"], band.members["Ida Voss"], band.spots["1-3"]
    gone = add_backup(actor=cast.staff, spot=spot, member=jon)
    remove_backup(actor=cast.director, backup=gone)
    add_backup(actor=cast.staff, spot=spot, member=ida)
    staff = signed_in(cast.staff)
    of_jon = [
        "Director took Jon Pell off the backups for 1-3",
        "Staff named Jon Pell as a backup for 1-3",
    ]
    assert said(staff, about="jon pell") == of_jon == said(staff, about=jon.pk)
    assert len(said(staff)) == 3
    assert said(staff, about="nobody of that name") == []
    assert said(staff, about="jon", who="direct") == of_jon[:1]
    assert said(staff, about="9" * 40) == [] == said(staff, kind="people_person")


def test_actions_are_found_by_who_did_them_by_kind_and_by_day(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    jon, spot = band.members["Jon Pell"], band.spots["1-3"]
    pin = pin_member(actor=cast.staff, event=band.event, segment=None, spot=spot, member=jon)
    lift_order(actor=cast.staff, order=pin)
    report = Report(band.members["Cai Ørnberg"], {"kind": "out", "event": band.event})
    report_absence(actor=cast.member, report=report, by_staff=False)
    staff, today = signed_in(cast.staff), timezone.localdate(timezone=band.season.zone)
    assert len(said(staff)) == 2, "what members did is shown when asked for"
    assert [line.split(" noted ")[0] for line in said(staff, who="cai")] == ["Cai Ørnberg"]
    assert said(staff, kind="lineup_pin") == [
        "Staff lifted the pin of Jon Pell to 1-3",
        "Staff pinned Jon Pell to 1-3",
    ]
    assert len(said(staff, day=today.isoformat())) == 2
    assert said(staff, day=(today - datetime.timedelta(days=1)).isoformat()) == []
    page = staff.get(reverse("history"), {"day": "no day"})
    assert "Enter a valid date." in page.content.decode()


def test_what_is_long_past_is_found_and_not_taken_back(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    add_backup(actor=cast.staff, spot=band.spots["1-3"], member=band.members["Jon Pell"])
    later = timezone.now() + datetime.timedelta(days=15)
    with time_machine.travel(later, tick=False):
        staff = signed_in(cast.staff)
        assert said(staff) == []
        page = staff.get(reverse("history"), {"about": "Jon"})
        assert [may for _, may in page.context["actions"]] == [False]


def test_each_look_at_private_data_is_listed(band: Band, cast: Cast, signed_in: SignIn) -> None:
    staff, jon = signed_in(cast.staff), band.members["Jon Pell"]
    staff.get(reverse("member-emergency", args=[jon.pk]))
    staff.get(reverse("member-absences", args=[band.members["Ida Voss"].pk]))
    staff.get(reverse("absences"))
    director = signed_in(cast.director)

    def seen(**asked: str | int) -> list[str]:
        page = director.get(reverse("looks"), asked)
        assert text(page)
        return [f"{look.by}: {look.what} of {look.of or 'all'}" for look in page.context["looks"]]

    before = AuditEntry.objects.count()
    every = [
        "Staff: absence reasons of all",
        "Staff: absence reasons of Ida Voss",
        "Staff: emergency contact of Jon Pell",
    ]
    assert seen() == every and seen(who="Director") == []
    assert seen(about="Jon Pell") == [every[0], every[2]], "a list shows everybody"
    assert AuditEntry.objects.count() == before, "looking here is no look"
    member = signed_in(cast.member)
    assert member.get(reverse("looks")).status_code == 403
