"""Every way to stop there is: the pages, the import and its undo, the history."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.undo import take_back
from bandops.lib.errors import Refused
from bandops.lib.imports.models import ImportBatch
from bandops.lib.imports.undo import undo_import
from tests.answers import text
from tests.drill.leaving.leavers import back, newest, on_leave, seats_of
from tests.drill.publishing.publishing_help import publish
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import accept_file
from tests.roster.people.imports_roster import members, person_row

__all__ = ["members"]
pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports and undoing write rows")]
SignedIn = Callable[[User | None], Client]
CAI = {"number": "004419", "name": "Cai Ørnberg"}


def test_the_member_page_says_what_followed(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    publish(band, cast)
    where = reverse("member-status", args=[band.members["Cai Ørnberg"].pk])
    page = text(signed_in(cast.staff).post(where, {"status": "on leave"}, follow=True))
    assert "revision 2 is published. Ida Voss marches 1-3 in Pregame and Halftime" in page


def test_the_release_page_says_what_followed(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    publish(band, cast)
    where = reverse("member-release", args=[band.members["Hal Brook"].pk])
    page = text(signed_in(cast.staff).post(where, follow=True))
    assert "2-3 in Pregame and Halftime is open" in page


def test_many_at_once_on_the_members_list(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    publish(band, cast)
    chosen = [band.members[name].pk for name in ("Cai Ørnberg", "Hal Brook")]
    data = {"member": chosen, "what": "on leave"}
    page = text(signed_in(cast.staff).post(reverse("people-bulk"), data, follow=True))
    assert "revision 2 is published" in page
    assert newest(band).number == 2


def test_a_clearance_that_ends_on_its_page(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    publish(band, cast)
    where = reverse("member-standing", args=[band.members["Cai Ørnberg"].pk])
    data = {"cleared": "no", "eligible": "yes", "cleared_by": "R. Hale"}
    page = text(signed_in(cast.staff).post(where, data, follow=True))
    assert "revision 2 is published" in page
    assert not seats_of(newest(band), "Cai Ørnberg")


def test_an_import_asks_first_and_is_followed_once(members: Desk, band: Band, cast: Cast) -> None:
    publish(band, cast)
    rows = [person_row(**CAI, status="on leave")]
    plan = members.plan(*rows)
    assert ["Cai Ørnberg marches in Pellowick at home" in w.message for w in plan.cautions] == [
        True
    ]
    with pytest.raises(Refused, match="check the box first"):
        members.accept(*rows)
    accept_file("members", members.file(*rows), band.season, cast.staff, sure=True)
    assert newest(band).number == 2 and not seats_of(newest(band), "Cai Ørnberg")


def test_undoing_the_import_that_brought_somebody_back_takes_them_out_again(
    members: Desk, band: Band, cast: Cast
) -> None:
    on_leave(band, cast, "Cai Ørnberg")
    members.accept(person_row(**CAI, status="active"))
    publish(band, cast)
    assert seats_of(newest(band), "Cai Ørnberg")
    undo_import(actor=cast.staff, batch=ImportBatch.objects.latest("pk"))
    assert newest(band).number == 2 and not seats_of(newest(band), "Cai Ørnberg")


def test_taking_a_return_back_in_the_history_takes_them_out_again(band: Band, cast: Cast) -> None:
    on_leave(band, cast, "Cai Ørnberg")
    back(band, cast, "Cai Ørnberg")
    batch = AuditEntry.objects.filter(action="change status").latest("pk").batch
    publish(band, cast)
    take_back(actor=cast.staff, batch=batch)
    assert newest(band).number == 2 and not seats_of(newest(band), "Cai Ørnberg")
