"""Positions typed in a form: written, read back, and what is wrong at its field."""

from __future__ import annotations

import pytest
from django.http import QueryDict
from hypothesis import given
from hypothesis import strategies as st

from drill.field.core.field import END_LINE, FIELD_TYPES, FIELD_WIDTH
from drill.field.core.spoken import Style
from drill.field.services.entering import Entry
from drill.field.services.writing import Writer
from drill.shows.forms.positions import Line, PositionsForm
from drill.shows.services.positions import Point
from tests.drill.shows.drill_by_hand import STEP

ENTRIES = [
    Entry(Writer(kind, Style(from_field, sixteenths, rounded)))
    for kind in FIELD_TYPES.values()
    for from_field in (False, True)
    for sixteenths in (False, True)
    for rounded in (False, True)
]
POINTS = st.tuples(st.integers(-END_LINE, END_LINE), st.integers(0, FIELD_WIDTH))


def filled(entry: Entry, before: Point | None, **typed: str) -> PositionsForm:
    """The form of one line as a browser sends it back, with what was typed."""
    line = Line((1, 2), "1-1", before)
    shown = PositionsForm(entry, [line])
    data = QueryDict(mutable=True)
    for name in shown.fields:
        data[name] = str(shown[name].value() or "")
    data.update({f"{way}-1-2": text for way, text in typed.items()})
    return PositionsForm(entry, [line], data)


@given(st.sampled_from(ENTRIES), POINTS)
def test_a_form_sent_back_untouched_changes_nothing(entry: Entry, point: Point) -> None:
    form = filled(entry, point)
    assert form.is_valid(), form.errors
    assert form.points == {}


@given(st.sampled_from([e for e in ENTRIES if e.writer.style.sixteenths]), POINTS, POINTS)
def test_sixteenths_written_and_read_keep_exact_units(
    entry: Entry, before: Point, point: Point
) -> None:
    """Whatever is written in sixteenths comes back to the unit, as far as its words can say it."""
    exact = entry.writer.parse(entry.writer.coordinate(*point))
    error = entry.writer.error(*point)
    assert (exact[0] - point[0], exact[1] - point[1]) in (error, (-error[0], -error[1]))
    x, y = entry.writer.across(exact[0]), entry.writer.depth(exact[1])
    form = filled(entry, before, across=x, depth=y)
    assert form.is_valid(), form.errors
    if (x, y) != (entry.writer.across(before[0]), entry.writer.depth(before[1])):
        wanted = (
            before[0] if x == entry.writer.across(before[0]) else exact[0],
            before[1] if y == entry.writer.depth(before[1]) else exact[1],
        )
        assert form.points == {(1, 2): wanted}
    else:
        assert form.points == {}


@given(st.sampled_from(ENTRIES), st.integers(-1280, 1280), st.integers(0, 1365))
def test_numbers_are_steps_whatever_the_words_are(entry: Entry, x: int, y: int) -> None:
    form = filled(entry, None, across=f"{x / 16}", depth=f"{y / 16}")
    assert form.is_valid(), form.errors
    assert form.points == {(1, 2): (x * STEP // 16, y * STEP // 16)}


def test_one_way_alone_keeps_the_other_exact() -> None:
    form = filled(ENTRIES[0], (1001, 20_003), across="side 2, on the 45")
    assert form.is_valid()
    assert form.points == {(1, 2): (8 * STEP, 20_003)}


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"across": ""}, "across-1-2"),
        ({"depth": ""}, "depth-1-2"),
        ({"across": "side 3"}, "across-1-2"),
        ({"depth": "6 behind the moon"}, "depth-1-2"),
        ({"depth": "99999"}, "depth-1-2"),
        ({"was": "[]"}, "__all__"),
        ({"was": "not JSON"}, "__all__"),
    ],
)
def test_what_is_wrong_is_tied_to_its_field(typed: dict[str, str], field: str) -> None:
    form = filled(ENTRIES[0], (0, 20_003))
    assert isinstance(form.data, QueryDict)
    data = form.data.copy()
    data.update({name if name == "was" else f"{name}-1-2": t for name, t in typed.items()})
    form = PositionsForm(ENTRIES[0], form.lines, data)
    assert not form.is_valid()
    assert list(form.errors) == [field]
    assert not form.points
