"""Spots written as the band writes them: A1, 7B, T12."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bandops.lib.errors import Refused
from bandops.lib.exports.kinds import export_of
from bandops.lib.finding.finding import Entry, find
from bandops.lib.imports.tables import Cell
from bandops.lib.imports.words import UnknownWord, Words
from bandops.lib.names import label_words
from drill.shows.models import Dot
from drill.shows.queries import dots_of
from roster.people import queries as people_queries
from roster.ranks.lookup import SpotIndex
from roster.ranks.models import Rank, Spot
from roster.ranks.services import spots as services
from tests.drill.shows.show_pages import SignIn
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import accept_file, actions, all_same, csv_file, faults, plan_of, words
from tests.roster.people.imports_roster import ranks, spot_row

__all__ = ["ranks"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("labels are kept once by a constraint")]


def relabel(band: Band, cast: Cast, spot: str, label: str) -> Spot:
    """The spot, saved by staff with the label."""
    it = Spot.objects.get(pk=band.spots[spot].pk)
    it.own_label = label
    return services.save_spot(actor=cast.staff, spot=it)


@pytest.mark.parametrize("typed", ["A1", "a-1", "A 1", "a–01"])
def test_ways_to_write_a_label_read_the_same(typed: str) -> None:
    assert label_words(typed) == label_words("A1")


def test_a_hyphen_between_numbers_counts() -> None:
    assert len({label_words(label) for label in ("1-11", "11-1", "111")}) == 3


def test_a_label_is_written_and_without_one_rank_and_number(band: Band, cast: Cast) -> None:
    assert str(relabel(band, cast, "1-1", "A1")) == "A1"
    assert str(relabel(band, cast, "1-1", "")) == "1-1"


@pytest.mark.parametrize("label", ["2-1", "2 1", "a 1", "A-1"])
def test_no_two_spots_of_a_season_read_the_same(band: Band, cast: Cast, label: str) -> None:
    relabel(band, cast, "1-1", "A1")
    with pytest.raises(Refused, match="look the same"):
        relabel(band, cast, "1-2", label)


def test_a_rank_s_new_label_makes_no_spot_read_like_another(band: Band, cast: Cast) -> None:
    relabel(band, cast, "1-1", "A1")
    rank = Rank.objects.get(label="2", season=band.season)
    rank.label = "A"
    with pytest.raises(Refused, match="A1 and A-1"):
        services.save_rank(actor=cast.staff, rank=rank)


def test_the_database_keeps_a_label_once_a_rank(band: Band) -> None:
    spots = Spot.objects.filter(rank=band.ranks["1"])
    with pytest.raises(IntegrityError), transaction.atomic():
        spots.filter(number__lte=2).update(own_label="A1")


def test_staff_label_a_spot_on_its_page(band: Band, cast: Cast, signed_in: SignIn) -> None:
    client: Client = signed_in(cast.staff)
    address = reverse("spot", args=[band.spots["1-1"].pk])
    sent = {"number": 1, "own_label": "T12", "part": band.parts["trumpet"].pk, "weight": 1}
    page = client.post(address, sent, follow=True)
    assert "T12" in words(page)
    twice = client.post(reverse("spot", args=[band.spots["1-2"].pk]), {**sent, "number": 2})
    assert "The rank has a spot of that label already." in words(twice)


def test_a_spot_goes_on_marching_the_dot_of_its_old_label(band: Band, cast: Cast) -> None:
    show = band.halftime.show
    assert show is not None
    Dot.objects.create(show=show, label="1-1")
    spot = relabel(band, cast, "1-1", "A1")
    assert dots_of(show.pk, [spot]) == {spot.pk: "1-1"}


def test_a_spot_marches_the_dot_of_its_new_label_where_the_show_has_one(
    band: Band, cast: Cast
) -> None:
    show = band.halftime.show
    assert show is not None
    for label in ("1-1", "A1"):
        Dot.objects.create(show=show, label=label)
    spot = relabel(band, cast, "1-1", "A1")
    assert dots_of(show.pk, [spot]) == {spot.pk: "A1"}


def test_a_renamed_rank_keeps_its_spots_dots(band: Band, cast: Cast) -> None:
    show = band.halftime.show
    assert show is not None
    Dot.objects.create(show=show, label="1-1")
    rank = Rank.objects.get(pk=band.ranks["1"].pk)
    rank.label = "A"
    services.save_rank(actor=cast.staff, rank=rank)
    spot = Spot.objects.select_related("rank").get(pk=band.spots["1-1"].pk)
    assert dots_of(show.pk, [spot]) == {spot.pk: "1-1"}


@pytest.mark.parametrize("typed", ["A1", "a-1", "A 1", "ana a1"])
def test_members_are_found_by_the_label_of_their_spot(band: Band, cast: Cast, typed: str) -> None:
    relabel(band, cast, "1-1", "A1")
    entry = Entry("Spots", "A1", 1, "Ana Núñez", code=True)
    assert find(typed, [entry], ["Spots"]).total == 1
    text = typed.replace("A 1", "A1")
    found = people_queries.search_members(people_queries.members(band.season), text)
    assert [m.name for m in found] == ["Ana Núñez"]


@pytest.mark.parametrize("written", ["A1", "a-1", "A 1", "a1", "spot A1"])
def test_an_import_knows_a_label_in_any_usual_way(band: Band, cast: Cast, written: str) -> None:
    relabel(band, cast, "1-1", "A1")
    assert SpotIndex(band.season).find(Cell(written)) == band.spots["1-1"]


@pytest.mark.parametrize(("written", "spot"), [("4", "1-4"), ("5", "1-5"), ("12", "2-1")])
def test_a_number_alone_is_the_one_spot_that_has_it(
    band: Band, cast: Cast, written: str, spot: str
) -> None:
    relabel(band, cast, "2-1", "T12")
    assert SpotIndex(band.season).find(Cell(written)) == band.spots[spot]


def test_a_number_alone_is_one_of_the_row_s_own_rank(band: Band) -> None:
    index = SpotIndex(band.season)
    assert index.find(Cell("2"), band.ranks["2"]) == band.spots["2-2"]


def test_a_number_that_several_spots_have_is_a_choice(band: Band) -> None:
    with pytest.raises(UnknownWord) as unknown:
        SpotIndex(band.season).find(Cell("2"))
    assert unknown.value.kind == "spot"
    assert [c.label for c in unknown.value.choices] == ["1-2 (Trumpet)", "2-2 (Trumpet)"]


def test_a_word_that_was_given_a_meaning_is_that_spot(band: Band) -> None:
    spot = band.spots["2-2"]
    assert SpotIndex(band.season, Words({"spot": {"2": str(spot.pk)}})).find(Cell("2")) == spot


@pytest.mark.parametrize("written", ["2", "Rank 2", "rank 2", "R2", "2nd rank", "2nd", "Line 2"])
def test_a_rank_is_written_in_any_usual_way(band: Band, written: str) -> None:
    assert SpotIndex(band.season).rank(written) == band.ranks["2"]


def test_an_unknown_rank_is_a_choice_of_all(band: Band) -> None:
    with pytest.raises(UnknownWord) as unknown:
        SpotIndex(band.season).rank("Silver")
    assert [c.label for c in unknown.value.choices] == ["Rank 1", "Rank 2"]
    index = SpotIndex(band.season, Words({"rank": {"silver": str(band.ranks["2"].pk)}}))
    assert index.rank("Silver") == band.ranks["2"]


@pytest.mark.parametrize(
    ("rank", "spot", "made"),
    [
        ("", "A1", ("A", 1, "A1")),
        ("", "7B", ("7", 2, "7B")),
        ("", "T12", ("T", 12, "T12")),
        ("T", "T12", ("T", 12, "T12")),
        ("T", "12", ("T", 12, "T-12")),
        ("7", "7B", ("7", 2, "7B")),
        ("1", "T12", ("1", 12, "T12")),
        ("1", "T-2", ("1", 6, "T-2")),
        ("R1", "9", ("1", 9, "1-9")),
        ("3rd rank", "9", ("3", 9, "3-9")),
    ],
)
def test_a_new_spot_is_labelled_as_the_file_writes_it(
    ranks: Desk, rank: str, spot: str, made: tuple[str, int, str]
) -> None:
    ranks.accept(spot_row(spot, "trumpet", rank=rank))
    it = Spot.objects.select_related("rank").latest("pk")
    assert (it.rank.label, it.number, it.label) == made


def test_a_new_rank_in_two_writings_is_one(ranks: Desk) -> None:
    ranks.accept(
        spot_row("1", "trumpet", rank="Rank 4"),
        spot_row("2", "trumpet", rank="R4"),
        spot_row("3", "trumpet", rank="4th rank"),
    )
    assert list(Rank.objects.values_list("label", flat=True)) == ["1", "2", "4"]


def test_spots_that_are_there_are_found_and_keep_their_label(ranks: Desk) -> None:
    relabel(ranks.band, ranks.cast, "1-1", "A1")
    rows = [spot_row(text, "trumpet", "Ana Núñez") for text in ("a-1",)]
    assert actions(ranks.plan(*rows)) == ["same"]


def test_the_same_new_spot_in_two_writings_is_told(ranks: Desk) -> None:
    assert ranks.faults(spot_row("A1", "trumpet"), spot_row("a 1", "trumpet")) == [(3, "spot")]


def labelled(ranks: Desk, *rows: list[object]) -> bytes:
    return csv_file(["spot", "label", "part"], *rows)


def test_two_spots_change_their_labels_in_one_file(ranks: Desk) -> None:
    band, cast = ranks.band, ranks.cast
    relabel(band, cast, "1-1", "A1")
    relabel(band, cast, "1-2", "A2")
    content = labelled(ranks, ["A1", "A2", "trumpet"], ["A2", "A1", "trumpet"])
    plan = plan_of("ranks", content, band.season, cast.staff)
    assert [(c.name, c.before, c.after) for line in plan.lines for c in line.changes] == [
        ("label", "A1", "A2"),
        ("label", "A2", "A1"),
    ]
    accept_file("ranks", content, band.season, cast.staff)
    assert Spot.objects.get(pk=band.spots["1-1"].pk).label == "A2"


def test_a_label_of_a_spot_outside_the_file_is_told(ranks: Desk) -> None:
    content = labelled(ranks, ["1-1", "1 2", "trumpet"])
    plan = plan_of("ranks", content, ranks.band.season, ranks.cast.staff)
    assert faults(plan) == [(2, "label")]


def test_ranks_go_out_with_their_labels_and_come_in_again(ranks: Desk) -> None:
    relabel(ranks.band, ranks.cast, "1-1", "A1")
    export = export_of("ranks")
    assert export is not None
    headers, rows = export.rows(ranks.band.season)
    assert rows[0][:3] == ("1", "A1", "A1")
    content = csv_file(headers, *rows)
    assert all_same(plan_of("ranks", content, ranks.band.season, ranks.cast.staff))
