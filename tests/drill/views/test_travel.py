"""The travel list's pages: what staff do there, and what others read of a posted list."""

from __future__ import annotations

import html
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.running import keep_artifact
from drill import queries
from drill.models import TravelList
from drill.services import travel
from drill.services.absences import Report, report_absence
from drill.services.travel import group_of
from tests.architecture.world import publish
from tests.factories import Band, Cast
from tests.factories.cast import account_of

pytestmark = pytest.mark.django_db
SignedIn = Callable[[User | None], Client]


def text_of(client: Client, name: str, *args: object) -> str:
    return html.unescape(client.get(reverse(name, args=args)).content.decode())


def change(client: Client, band: Band, what: str, **data: Any) -> str:
    """The page after the change, with what it says."""
    url = reverse("travel-change", args=[band.event.pk])
    referer = reverse("travel", args=[band.event.pk])
    response = client.post(
        url, {"what": what, **data}, follow=True, HTTP_REFERER=f"http://testserver{referer}"
    )
    assert response.status_code == 200
    return html.unescape(response.content.decode())


def limit(band: Band, most: int | None) -> None:
    band.event.travel_limit = most
    band.event.save()


def test_from_nothing_to_a_posted_list_and_back(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    """The limit is below the marchers: refused with names, mended, posted, taken back."""
    publish(band, cast.staff)
    limit(band, 7)
    staff = signed_in(cast.staff)
    page = text_of(staff, "travel", band.event.pk)
    assert "not made yet" in page and "8 people are 1 more than the limit of 7" in page
    assert not TravelList.objects.exists(), "looking makes nothing"
    assert "The draft list has 8 people." in change(staff, band, "make")
    assert "8 people are 1 more than the limit of 7." in change(staff, band, "post")
    eno = band.members["Eno Farrow"]
    page = change(staff, band, "remove", member=eno.pk)
    assert "1-5 loses its marcher" in page and "Eno Farrow marches 1-5" in page
    page = change(staff, band, "post")
    assert "1-5: Eno Farrow marches it and is not on the list" in page
    assert queries.travellers(band.event) is None
    seat = (band.event.pk, band.halftime.pk, band.spots["1-5"].pk)
    staff.post(reverse("order", args=seat), {"what": "open", "scope": "event"})
    page = change(staff, band, "post")
    assert "whoever is not on it cannot march" in page and "Take back to a draft" in page
    built = queries.travellers(band.event)
    assert built == frozenset(
        m.pk for n, m in band.members.items() if n in MARCH and n != "Eno Farrow"
    )
    seats = (band.event.pk, band.halftime.pk, band.spots["1-3"].pk)
    assert "Ida Voss: not on the travel list" in text_of(staff, "seat", *seats)
    assert "everybody may march" in change(staff, band, "take back")
    assert "not on the travel list" not in text_of(staff, "seat", *seats)


MARCH = {
    "Ana Núñez", "Bo Larkspur", "Cai Ørnberg", "Dee Quill", "Eno Farrow", "Fay Ashgrove",
    "Gus Tamm", "Hal Brook",
}  # fmt: skip


def test_the_page_says_what_each_person_means(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    limit(band, 9)
    staff = signed_in(cast.staff)
    page = change(staff, band, "make")
    for words in ("Trumpet from 3% to 23%", "alternate 1 of Rank 1", "No place is left"):
        assert words in page, words
    assert "Put on the list" not in page, "no button that is bound to be refused"
    page = change(staff, band, "remove", member=band.members["Ida Voss"].pk)
    assert "Trumpet from 23% to 3%" in page and "Put on the list" in page
    page = change(staff, band, "fill")
    assert "1 cover comes along: Ida Voss." in page
    assert "No place is left for covers." in change(staff, band, "fill")


def test_an_event_without_a_limit_says_so_and_lists_who_goes(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    page = text_of(signed_in(cast.staff), "travel", band.event.pk)
    assert "There is no limit for this event" in page
    for name in band.members:
        assert name in page


def test_an_event_that_cannot_have_a_lineup_says_where_to_look(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    limit(band, 1)
    band.event.must_travel.set([band.members["Ana Núñez"], band.members["Bo Larkspur"]])
    page = text_of(signed_in(cast.staff), "travel", band.event.pk)
    assert "look at Who marches first" in page


def test_an_event_where_nobody_marches_has_a_page(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    band.event.segments.exclude(pk=band.stands.pk).delete()
    assert "Nobody marches" in text_of(signed_in(cast.staff), "travel", band.event.pk)


@pytest.mark.parametrize(
    ("what", "data", "says"),
    [
        ("dance", {}, "Choose what to do."),
        ("add", {}, "Choose a member."),
        ("add", {"member": "x"}, "Choose a member."),
        ("print", {"paper": "foolscap"}, "Choose a paper."),
    ],
)
def test_what_cannot_be_meant_is_refused(
    band: Band, cast: Cast, signed_in: SignedIn, what: str, data: dict[str, str], says: str
) -> None:
    assert says in change(signed_in(cast.staff), band, what, **data)


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
    asks = "no travel list is posted yet"
    assert asks not in text_of(staff, "week")
    limit(band, 8)
    assert asks in text_of(staff, "week")
    posted(band, cast, 8)
    page = text_of(staff, "week")
    assert asks not in page and "stay at home by the travel list" in page


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
    assert "you do not travel" in page and "Not travelling." in page
    assert "Be there, dressed and ready" not in page and "list" not in page.split("<main")[1]
    page = text_of(signed_in(cast.member), "card")
    assert "<strong>you travel</strong>" in page and "Not travelling" not in page


def test_a_member_who_is_taken_off_after_publishing_reads_it(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    posted(band, cast, 8)
    report = Report(band.members["Cai Ørnberg"], {"kind": "out", "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)
    travel.remove_member(actor=cast.staff, event=band.event, member=band.members["Cai Ørnberg"])
    page = text_of(signed_in(cast.member), "card")
    assert "Not travelling: staff will settle who stands in." in page


def test_a_rank_leader_reads_who_of_the_own_rank_travels(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    leader = signed_in(cast.leader)
    assert "travel" not in text_of(leader, "my-rank")
    posted(band, cast, 8)
    page = text_of(leader, "my-rank")
    assert "5 of 7 travel to Brackenfield at home." in page
    people = page[page.index("<h2>People</h2>") :]
    lines = {name: li for li in people.split("<li>") for name in band.members if name in li}
    assert "does not travel" in lines["Ida Voss"] and ">travels<" in lines["Cai Ørnberg"]
    assert "Kit Moss" not in lines, "only the own rank"


ROLES = ("director", "staff", "gear", "evaluator", "leader", "member", "outsider")


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
    assert any(row.endswith("Ida Voss,cover") for row in rows)


def test_the_event_leads_to_its_list(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    page = text_of(signed_in(cast.staff), "event", band.event.pk)
    assert reverse("travel", args=[band.event.pk]) in page and "Who must travel" in page
