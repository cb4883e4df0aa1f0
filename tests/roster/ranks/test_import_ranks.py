"""The import of ranks and spots: holders, leaders, and when a change begins."""

from __future__ import annotations

import datetime

import pytest

from roster.ranks.models import AlternatePlace, Holding, Rank, Spot
from tests.lib.imports_desk import Desk, changes
from tests.lib.imports_help import actions, all_same, csv_file, plan_of
from tests.roster.people.imports_roster import ranks, running, spot_row

__all__ = ["ranks"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


def holder(label: str) -> str:
    rank, number = label.split("-")
    holding = Holding.objects.filter(
        spot__rank__label=rank, spot__number=number, ends__isnull=True
    ).first()
    return holding.member.name if holding else ""


def test_spots_are_added_changed_and_left(ranks: Desk) -> None:
    ranks.band.member("New Tuba", "sousaphone")
    rows = [
        spot_row("1-1", "trumpet", "004417", "leader"),
        spot_row("1-2", "Trumpet", "Bo Larkspur", "assistant leader", weight=3),
        spot_row("3-11", "sousaphone", "new tuba", "leader", weight=5, experience="yes"),
    ]
    assert actions(ranks.plan(*rows)) == ["same", "change", "add"]
    ranks.accept(*rows)
    rank = Rank.objects.get(label="3")
    assert (rank.order, str(rank.leader)) == (3, "New Tuba")
    spot = Spot.objects.get(rank=rank)
    assert (spot.number, spot.weight, spot.needs_experience) == (11, 5, True)
    assert Holding.objects.get(spot=spot).starts == ranks.band.season.starts


@pytest.mark.parametrize("written", [("Rank 1", "6"), ("1", "6"), ("", "1-6"), ("rank 1", "1 - 6")])
def test_a_spot_is_written_in_any_usual_way(ranks: Desk, written: tuple[str, str]) -> None:
    rank, spot = written
    ranks.accept(spot_row(spot, "trumpet", rank=rank))
    assert Spot.objects.filter(rank__label="1", number=6).exists()
    assert Rank.objects.count() == 2


@pytest.mark.parametrize("days", [0, 60], ids=["before the season", "in the season"])
def test_two_holders_swap_and_leader_and_assistant_too(ranks: Desk, days: int) -> None:
    today = running(ranks.band) if days else ranks.band.season.starts
    rows = [
        spot_row("1-1", "trumpet", "Bo Larkspur", "leader"),
        spot_row("1-2", "trumpet", "Ana Núñez", "assistant leader"),
    ]
    plan = ranks.plan(*rows)
    assert set(changes(plan)) == {
        ("holder", "Ana Núñez", "Bo Larkspur"),
        ("holder", "Bo Larkspur", "Ana Núñez"),
        ("leader", "Ana Núñez", "Bo Larkspur"),
        ("assistant leader", "Bo Larkspur", "Ana Núñez"),
    }
    ranks.accept(*rows)
    assert (holder("1-1"), holder("1-2")) == ("Bo Larkspur", "Ana Núñez")
    rank = Rank.objects.get(label="1")
    assert (str(rank.leader), str(rank.assistant_leader)) == ("Bo Larkspur", "Ana Núñez")
    ends = set(Holding.objects.filter(spot__rank=rank, ends__isnull=False).values_list("ends"))
    assert ends == ({(today,)} if days else set())


def test_an_assistant_who_becomes_leader_leaves_the_assistant_s_role(ranks: Desk) -> None:
    rows = [spot_row("1-2", "trumpet", "Bo Larkspur", "leader")]
    assert set(changes(ranks.plan(*rows))) == {
        ("leader", "Ana Núñez", "Bo Larkspur"),
        ("assistant leader", "Bo Larkspur", ""),
    }
    ranks.accept(*rows)
    rank = Rank.objects.get(label="1")
    assert (str(rank.leader), rank.assistant_leader) == ("Bo Larkspur", None)


@pytest.mark.parametrize("days", [0, 60], ids=["before the season", "in the season"])
@pytest.mark.parametrize("spot", ["2-2", "2-9"], ids=["a spot held", "a new spot"])
def test_a_holder_from_elsewhere_leaves_the_old_spot_and_the_preview_says_so(
    ranks: Desk, days: int, spot: str
) -> None:
    if days:
        running(ranks.band)
    rows = [spot_row(spot, "trumpet", "Cai Ørnberg")]
    plan = ranks.plan(*rows)
    assert ("holder", "Cai Ørnberg", "") in changes(plan)
    assert [line.label for line in plan.lines if line.label] == [spot, "1-3"]
    ranks.accept(*rows)
    assert (holder(spot), holder("1-3")) == ("Cai Ørnberg", "")
    assert Holding.objects.filter(member__person__legal_name="Gus Tamm").exists() == bool(
        days or spot == "2-9"
    )


def test_an_empty_spot_of_old_takes_a_new_holder_from_today(ranks: Desk) -> None:
    today = running(ranks.band)
    gone = today - datetime.timedelta(days=9)
    Holding.objects.filter(spot=ranks.band.spots["1-3"]).update(ends=gone)
    ranks.accept(spot_row("1-3", "trumpet", "Ida Voss"))
    holding = Holding.objects.get(spot=ranks.band.spots["1-3"], ends__isnull=True)
    assert holding.starts == today


def test_after_the_season_a_change_falls_on_its_last_day(ranks: Desk) -> None:
    today = running(ranks.band)
    ranks.band.season.ends = today - datetime.timedelta(days=9)
    ranks.band.season.save()
    ranks.accept(spot_row("1-1", "trumpet", "Ida Voss"))
    holding = Holding.objects.get(spot=ranks.band.spots["1-1"], ends__isnull=True)
    assert holding.starts == ranks.band.season.ends


def test_an_alternate_who_gets_a_spot_is_one_no_longer(ranks: Desk) -> None:
    rows = [spot_row("1-6", "trumpet", "Ida Voss")]
    assert ("place as alternate", "Rank 1, standing 1", "") in changes(ranks.plan(*rows))
    ranks.accept(*rows)
    places = AlternatePlace.objects.filter(rank=ranks.band.ranks["1"])
    assert [(p.member.name, p.standing) for p in places] == [("Jon Pell", 1)]


def test_an_empty_holder_vacates_and_a_missing_column_does_not(ranks: Desk) -> None:
    band, cast = ranks.band, ranks.cast
    content = csv_file(["spot", "part"], ["1-3", "trumpet"])
    assert all_same(plan_of("ranks", content, band.season, cast.staff))
    ranks.accept(spot_row("1-3", "trumpet"))
    assert holder("1-3") == ""


@pytest.mark.parametrize("written", ["assistant leader", "Assistant", "second", "2nd"])
def test_an_assistant_leader_is_written_in_any_usual_way(ranks: Desk, written: str) -> None:
    ranks.accept(spot_row("1-3", "trumpet", "Cai Ørnberg", written))
    assert str(Rank.objects.get(label="1").assistant_leader) == "Cai Ørnberg"
