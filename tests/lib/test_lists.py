"""Lists: filtered and sorted by the address, a page at a time, whatever the address says."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops.lib.web.lists import A_PAGE
from roster.people.models import Member
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


def names(cast: Cast, **asked: str | int) -> list[str]:
    page = client_of(cast, "staff").get(reverse("people"), asked)
    assert page.status_code == 200
    return [member.name for member in page.context["members"]]


def test_members_are_found_by_name_spot_part_and_status(band: Band, cast: Cast) -> None:
    cai = band.members["Cai Ørnberg"]
    assert names(cast, q="ornberg") == ["Cai Ørnberg"]
    assert names(cast, q="1-3") == ["Cai Ørnberg"]
    part = cai.qualifications.get(main=True).part
    players = set(Member.objects.filter(qualifications__part=part).values_list("pk", flat=True))
    assert set(names(cast, part=part.pk)) == {m.name for m in Member.objects.filter(pk__in=players)}
    Member.objects.filter(pk=cai.pk).update(status="on leave")
    assert "Cai Ørnberg" not in names(cast)
    assert names(cast, status="on leave") == ["Cai Ørnberg"]
    assert "Cai Ørnberg" in names(cast, status="")


def test_they_are_sorted_as_asked(band: Band, cast: Cast) -> None:
    for years, member in enumerate(Member.objects.order_by("pk")):
        Member.objects.filter(pk=member.pk).update(years_marched=years % 5)
    marched = dict(Member.objects.values_list("person__legal_name", "years_marched"))
    most = [marched.get(name, 0) for name in names(cast, sort="-years")]
    assert most == sorted(most, reverse=True) and most[0] > most[-1]


@pytest.mark.parametrize(
    "asked", [{"part": "x"}, {"status": "all"}, {"sort": "?"}, {"q": "\0"}, {"page": "-3"}]
)
def test_what_no_list_knows_filters_nothing(band: Band, cast: Cast, asked: dict[str, str]) -> None:
    assert "Cai Ørnberg" in names(cast, **asked)


def test_a_page_holds_so_many_and_the_next_keeps_the_filter(band: Band, cast: Cast) -> None:
    for n in range(A_PAGE):
        band.member(f"Ned Ward{n:02}", "trumpet")
    staff = client_of(cast, "staff")
    first = staff.get(reverse("people"), {"q": "ward"})
    assert len(first.context["members"]) == A_PAGE
    assert "Next page" not in first.content.decode()
    band.member("Zed Ward99", "trumpet")
    more = staff.get(reverse("people"), {"q": "ward"}).content.decode()
    assert 'rel="next" href="?q=ward&amp;page=2"' in more
    assert names(cast, q="ward", page=2) == ["Zed Ward99"]


def test_shares_are_sorted_by_what_no_table_holds(band: Band, cast: Cast) -> None:
    page = client_of(cast, "staff").get(reverse("record"), {"sort": "-percent", "q": "ornberg"})
    assert [member.name for member, _ in page.context["shares"]] == ["Cai Ørnberg"]
