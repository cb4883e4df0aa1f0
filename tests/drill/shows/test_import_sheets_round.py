"""Sheets of coordinates that come in and go out: what stays, what is put in order."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from drill.shows.imports.set_lines import in_order
from drill.shows.models import Dot, DrillSet, Path, Position
from tests.drill.shows.coordinate_sheets import BLOCKS, LONG, SAMPLES, Sheets, sets, sheets
from tests.lib.imports_help import csv_file, upload, words

__all__ = ["sheets"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


def test_subsets_and_tempo_come_in_stay_and_go_out(sheets: Sheets, signed_in: Any) -> None:
    sheets.accept(
        "show,set,counts,subset,tempo,dot,x,y\n"
        "Tidewheel,1,0,,,1-1,0,28\nTidewheel,1A,8,yes,144,1-1,4,28.0625\n"
    )
    it = DrillSet.objects.get(label="1A")
    assert (it.is_subset, it.tempo) == (True, 144)
    sheets.accept("show,set,counts,dot,x,y\nTidewheel,1,0,1-1,0,28\nTidewheel,1A,8,1-1,5,28\n")
    it.refresh_from_db()
    assert (it.is_subset, it.tempo) == (True, 144), "columns the file lacks change nothing"
    client = signed_in(sheets.cast.staff)
    for form in ("csv", "xlsx"):
        out = client.get(reverse("export", args=["coordinates", form])).content
        page = upload(client, "coordinates", out, f"a.{form}")
        assert "Everything in the file is already there." in words(page)
    assert sheets.faults(
        "show,set,subset,tempo,dot,x,y\n"
        "Tidewheel,1,perhaps,100,1-1,0,28\nTidewheel,2,no,1000,1-1,0,28\n"
    ) == [(2, "subset"), (3, "tempo")]


def test_what_stays_the_same_keeps_its_described_paths(sheets: Sheets) -> None:
    sheets.accept(LONG)
    it, dot = DrillSet.objects.get(label="2"), Dot.objects.get(label="1-2")
    Path.objects.create(set=it, dot=dot, words="forward 16")
    lines = LONG.splitlines()
    inserted = [*lines[:3], "Tidewheel,1A,8,1-1,0,28", *lines[3:]]
    sheets.accept("\n".join(inserted).replace("-6.5,30", "-6,30"))
    assert [label for label, _ in sets()] == ["1", "1A", "2"]
    assert Path.objects.get().set == it


def test_a_set_that_only_some_march_is_put_where_they_have_it(sheets: Sheets) -> None:
    text = BLOCKS.replace("2,16,-8,28\nTotal,16\n", "3,16,-8,28\n")
    text = text.replace("2,16,-6.5,30", "2,16,-6.5,30\n3,16,-6,30")
    sheets.accept(text)
    assert [label for label, _ in sets()] == ["1", "2", "3"]


@given(st.permutations(range(8)), st.data())
def test_an_order_that_all_dots_keep_is_found(order: list[int], data: st.DataObject) -> None:
    names = [str(n) for n in order]
    whole = data.draw(st.integers(0, 3))
    some = [data.draw(st.sets(st.sampled_from(names)), label=f"dot {n}") for n in range(3)]
    sequences = [[n for n in names if n in chosen] for chosen in some]
    sequences.insert(whole, names)
    found = in_order(sequences)
    assert sorted(found) == sorted(names)
    if whole == 0:
        assert found == names


@pytest.mark.parametrize("name", ["coordinates_blocks.csv", "coordinates_wide.csv"])
def test_the_samples_come_in_and_go_round(sheets: Sheets, name: str) -> None:
    sheets.accept((SAMPLES / name).read_bytes(), sure=True)
    assert Position.objects.count() > 5


def test_a_wide_table_of_four_hundred_dots_and_eighty_sets_is_read(sheets: Sheets) -> None:
    dots = [f"{n // 20 + 1}-{n % 20 + 1}" for n in range(400)]
    head = ["set", "counts", *(f"{dot} {axis}" for dot in dots for axis in "xy")]
    rows = [[n, 8, *[(n * 7 + m) % 60 for m in range(800)]] for n in range(1, 4)]
    plan = sheets.plan(csv_file(["Tidewheel"], head, *rows))
    assert plan.lines[0].label == "Tidewheel, version 1: 3 sets, 1200 positions"
