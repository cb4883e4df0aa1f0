"""Alternates in the pool of their rank, their section or the whole band, as the season chooses."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from roster.people.enums import AlternatePool
from roster.people.models import Season
from roster.ranks.models import AlternatePlace
from roster.ranks.services import alternates, holdings, pools
from tests.answers import text
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import all_same

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("rows are locked and standings written around their constraints"),
]
SignIn = Callable[[User | None], Client]
WIDE = [AlternatePool.SECTION, AlternatePool.BAND]


def standings(part: str = "Trumpet") -> list[tuple[str, str, int | None]]:
    """Name, rank and standing of a part's alternates, rank by rank."""
    places = AlternatePlace.objects.filter(part__name=part)
    return [(p.member.name, p.rank.label, p.standing) for p in places]


def change(band: Band, cast: Cast, pool: str) -> None:
    season = Season.objects.get(pk=band.season.pk)
    seen = pools.fingerprint(season)
    pools.change_pools(actor=cast.director, season=season, pool=pool, seen=seen)
    band.season.refresh_from_db()
    for rank in band.ranks.values():
        rank.season = band.season


@pytest.mark.parametrize("pool", WIDE)
def test_rank_lists_merge_by_standing_and_then_by_rank(
    band: Band, cast: Cast, pool: AlternatePool
) -> None:
    band.alternate("2", "trumpet", band.member("Lia Moor", "trumpet"), 2)
    change(band, cast, pool)
    assert standings() == [
        ("Ida Voss", "1", 1),
        ("Jon Pell", "1", 3),
        ("Kit Moss", "2", 2),
        ("Lia Moor", "2", 4),
    ]
    assert set(AlternatePlace.objects.values_list("pool", flat=True)) == {pool}


def test_a_wide_list_splits_back_by_each_ones_rank(band: Band, cast: Cast) -> None:
    change(band, cast, AlternatePool.BAND)
    order = ["Kit Moss", "Jon Pell", "Ida Voss"]
    alternates.reorder_alternates(
        actor=cast.staff,
        rank=band.ranks["1"],
        part=band.parts["trumpet"],
        member_ids=[band.members[name].pk for name in order],
    )
    change(band, cast, AlternatePool.RANK)
    assert standings() == [("Jon Pell", "1", 1), ("Ida Voss", "1", 2), ("Kit Moss", "2", 1)]


def test_parts_keep_lists_of_their_own(band: Band, cast: Cast) -> None:
    band.alternate("2", "clarinet", band.member("Una Reed", "clarinet"), 1)
    change(band, cast, AlternatePool.BAND)
    assert standings("Clarinet") == [("Una Reed", "2", 1)]


def test_no_two_of_a_part_have_one_standing_in_a_wide_pool(band: Band, cast: Cast) -> None:
    change(band, cast, AlternatePool.BAND)
    with pytest.raises(IntegrityError), transaction.atomic():
        AlternatePlace.objects.filter(member=band.members["Kit Moss"]).update(standing=1)


def test_in_a_wide_pool_a_newcomer_stands_last_and_those_behind_move_up(
    band: Band, cast: Cast
) -> None:
    change(band, cast, AlternatePool.BAND)
    new = band.member("Lia Moor", "trumpet")
    made = alternates.add_alternate(
        actor=cast.staff, member=new, rank=band.ranks["2"], part=band.parts["trumpet"]
    )
    assert (made.standing, made.words) == (4, "alternate 4 of the band, Rank 2")
    ida = AlternatePlace.objects.get(member=band.members["Ida Voss"])
    ida.rank = band.ranks["1"]
    alternates.remove_alternate(actor=cast.staff, place=ida)
    assert standings() == [("Jon Pell", "1", 2), ("Kit Moss", "2", 1), ("Lia Moor", "2", 3)]


def test_who_looked_at_an_old_order_is_told(band: Band, cast: Cast) -> None:
    seen = pools.fingerprint(band.season)
    alternates.remove_alternate(
        actor=cast.staff, place=AlternatePlace.objects.get(member=band.members["Ida Voss"])
    )
    with pytest.raises(Refused, match="just changed"):
        pools.change_pools(
            actor=cast.director, season=band.season, pool=AlternatePool.BAND, seen=seen
        )
    assert Season.objects.get(pk=band.season.pk).alternates_by == AlternatePool.RANK


def test_the_director_looks_first_and_undoes_it_in_one_step(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    director, before = signed_in(cast.director), standings()
    page = director.get(reverse("alternates"), {"pool": "band"})
    merged = [p.member.name for p in page.context["lists"][0].places]
    assert merged == ["Ida Voss", "Kit Moss", "Jon Pell"]
    assert standings() == before, "a preview changes nothing"
    form = {"pool": "band", "seen": page.context["seen"]}
    page = director.post(reverse("alternate-pools"), form, follow=True)
    assert "the whole band" in text(page) and standings()[2] == ("Kit Moss", "2", 2)
    director.post(reverse("take-back"), {"batch": page.context["last"].batch})
    assert standings() == before
    assert Season.objects.get(pk=band.season.pk).alternates_by == AlternatePool.RANK
    assert director.get(reverse("alternates")).context["last"] is None


def test_staff_read_and_reorder_a_wide_pool_but_do_not_choose_it(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    change(band, cast, AlternatePool.BAND)
    staff, members = signed_in(cast.staff), band.members
    page = text(staff.get(reverse("alternates")))
    assert "the whole band" in page and "Preview the order" not in page
    names = ("Kit Moss", "Ida Voss", "Jon Pell")
    form = {f"standing-{members[name].pk}": n for n, name in enumerate(names, 1)}
    url = reverse("alternates-reorder", args=[band.ranks["1"].pk, band.parts["trumpet"].pk])
    assert "Saved the order" in text(staff.post(url, form, follow=True))
    assert standings() == [("Ida Voss", "1", 2), ("Jon Pell", "1", 3), ("Kit Moss", "2", 1)]
    page = text(staff.get(reverse("rank", args=[band.ranks["1"].pk])))
    assert "alternate 2 of the band" in page and "Save the order" not in page
    member = text(staff.get(reverse("member", args=[members["Kit Moss"].pk])))
    assert "Alternate 1 of the band" in member


def test_the_import_writes_one_list_a_part_and_what_goes_out_comes_in_unchanged(
    band: Band, cast: Cast
) -> None:
    change(band, cast, AlternatePool.SECTION)
    desk = Desk(band, cast, "alternates", "member", "rank", "part", "standing")
    twice = desk.plan(["Kit Moss", 2, "trumpet", 1], ["Ida Voss", 1, "trumpet", 1])
    assert [f.message for f in twice.faults] == ["Standing 1 comes twice for Trumpet."]
    desk.accept(["Kit Moss", 2, "trumpet", 1])
    assert standings() == [("Ida Voss", "1", 2), ("Jon Pell", "1", 3), ("Kit Moss", "2", 1)]
    rows: list[list[object]] = [[name, rank, "trumpet", n] for name, rank, n in standings()]
    assert all_same(desk.plan(*rows))


def test_who_gave_a_spot_up_takes_a_place_in_the_wide_pool(band: Band, cast: Cast) -> None:
    change(band, cast, AlternatePool.BAND)
    holdings.change_holder(
        actor=cast.staff,
        spot=band.spots["1-3"],
        to=band.members["Kit Moss"],
        on=band.event.date,
    )
    assert standings() == [("Ida Voss", "1", 1), ("Jon Pell", "1", 3), ("Cai Ørnberg", "2", 2)]
