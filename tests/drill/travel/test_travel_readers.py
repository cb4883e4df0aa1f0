"""A posted travel list: what others read of it, its print and its export."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.running import keep_artifact
from drill.absences.services.absences import Report, report_absence
from drill.events.models import TravelList
from drill.travel.services import travel
from drill.travel.services.travel_prints import group_of
from tests.architecture.world import publish
from tests.drill.travel.travel_pages import SignedIn, limit, text_of
from tests.factories import Band, Cast
from tests.factories.cast import account_of

pytestmark = pytest.mark.django_db


def posted(band: Band, cast: Cast, most: int) -> TravelList:
    """A list posted under a limit; Ida and the other alternates stay at home when it is 8."""
    limit(band, most)
    travel.make_list(actor=cast.staff, event=band.event)
    publish(band, cast.staff)
    return travel.post_list(actor=cast.staff, event=band.event)


def test_this_week_asks_for_the_list_of_an_event_with_a_limit(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    staff = signed_in(cast.staff)
    asks = "no travel list is posted"
    assert asks not in text_of(staff, "week")
    limit(band, 8)
    assert asks in text_of(staff, "week")
    posted(band, cast, 8)
    page = text_of(staff, "week")
    assert asks not in page and "stay home" in page


def test_away_this_week_are_the_absent_and_not_those_at_home(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    for name in ("Ida Voss", "Hal Brook"):
        report = Report(band.members[name], {"kind": "out", "event": band.event})
        report_absence(actor=cast.staff, report=report, by_staff=True)
    posted(band, cast, 7)
    page = text_of(signed_in(cast.staff), "week")
    away = page[page.index("<h2>Away</h2>") : page.index("Enter an absence")]
    assert "Hal Brook" in away and "Ida Voss" in away and "Jon Pell" not in away


def test_a_member_reads_only_whether_they_travel(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    ida = account_of(band.members["Ida Voss"])
    limit(band, 8)
    travel.make_list(actor=cast.staff, event=band.event)
    assert "travel" not in text_of(signed_in(ida), "card").lower(), "a draft is for staff"
    posted(band, cast, 8)
    page = text_of(signed_in(ida), "card")
    assert "you do not travel" in page and "Not traveling." in page
    assert "Be there, in uniform and ready" not in page and "list" not in page.split("<main")[1]
    page = text_of(signed_in(cast.member), "card")
    assert "<strong>you travel</strong>" in page and "Not traveling" not in page


def test_a_member_who_is_taken_off_after_publishing_reads_it(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    posted(band, cast, 8)
    report = Report(band.members["Cai Ørnberg"], {"kind": "out", "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)
    travel.remove_member(actor=cast.staff, event=band.event, member=band.members["Cai Ørnberg"])
    page = text_of(signed_in(cast.member), "card")
    assert "Not traveling: staff will sort out who stands in." in page


def test_a_rank_leader_reads_who_of_the_own_rank_travels(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    leader = signed_in(cast.leader)
    assert "travel" not in text_of(leader, "my-rank")
    posted(band, cast, 8)
    page = text_of(leader, "my-rank")
    assert "People (7): 5 travel to Pellowick at home" in page
    people = page[page.index("<summary>People") :]
    lines = {name: li for li in people.split("<li>") for name in band.members if name in li}
    assert "does not travel" in lines["Ida Voss"] and ">travels<" in lines["Cai Ørnberg"]
    assert "Kit Moss" not in lines, "only the own rank"


ROLES = ("director", "staff", "equipment", "evaluator", "leader", "member", "outsider")


@pytest.mark.parametrize("role", ROLES)
def test_the_print_is_for_staff(band: Band, cast: Cast, signed_in: SignedIn, role: str) -> None:
    it = posted(band, cast, 8)
    made = keep_artifact(
        key="travel:x",
        group=group_of(it),
        title="Travel list",
        filename="travel-list.pdf",
        content_type="application/pdf",
        content=b"%PDF",
    )
    response = signed_in(cast.named(role)).get(reverse("file", args=[made.pk]))
    assert (response.status_code == 200) == (role in ("director", "staff"))
    assert response.status_code in (200, 403)


def test_a_file_of_no_known_kind_is_not_given_out(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    artifact = Artifact.objects.create(key="y", group="else:1", title="Else", size=1)
    response = signed_in(cast.director).get(reverse("file", args=[artifact.pk]))
    assert response.status_code == 404


def test_posted_lists_are_exported_and_drafts_are_not(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    limit(band, 9)
    staff, args = signed_in(cast.staff), ("travel", "csv")
    travel.make_list(actor=cast.staff, event=band.event)
    assert "Ana Núñez" not in text_of(staff, "export", *args)
    travel.post_list(actor=cast.staff, event=band.event)
    rows = text_of(staff, "export", *args).splitlines()
    assert rows[0].lstrip("\ufeff") == "event,date,member,name,role"
    assert len(rows) == 10
    assert any(row.endswith("Ana Núñez,marches") for row in rows)
    assert any(row.endswith("Ida Voss,backup") for row in rows)
