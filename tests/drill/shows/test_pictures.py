"""Field pictures: seen from either side, with every word in sight and none over another."""

from __future__ import annotations

import itertools
from typing import TypedDict
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string

from drill.field import labels
from drill.field.core.field import FIELD_TYPES, FIELD_WIDTH
from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.shows.pictures.picture import ON_PHONES, Mark, Picture, When
from drill.shows.pictures.shown import DrawnDot

KIND = FIELD_TYPES["60 ft"]
AT = DrawnDot(20 * STEP, 10 * STEP, "4-5")
BLOCK = tuple(
    DrawnDot(2 * STEP * n, 2 * STEP * m, f"{m}-{n}") for n in range(12) for m in range(10, 20)
)


def drawn(picture: Picture) -> ElementTree.Element:
    """The picture as it stands in a page: whole XML."""
    return ElementTree.fromstring(render_to_string("shows/drawing.html", {"picture": picture}))


def words_at(picture: Picture) -> dict[str, tuple[float, float]]:
    """Where each word that stands once is tied, in picture units."""
    left, top, *_ = picture.window
    root = drawn(picture)
    numbers = root.findall("{*}g[@class='numbers']/{*}text")
    found = {t.text: t for t in numbers if t.get("opacity") != "0"}
    at = {word or "": (float(t.get("x", 0)), float(t.get("y", 0))) for word, t in found.items()}
    for t in root.findall("{*}g[@class='sides']/{*}text"):
        at[t.text or ""] = (float(t.get("x", 0)) + left, float(t.get("y", 0)) + top)
    return at


class More(TypedDict, total=False):
    """How much of the field a picture shows."""

    close: bool
    around: tuple[DrawnDot, ...]


@pytest.mark.parametrize("from_field", [False, True])
@pytest.mark.parametrize(
    "more",
    [{}, {"close": True}, {"around": (AT,)}],
    ids=lambda more: "-".join(more),
)
def test_sides_and_front_are_where_the_words_have_them(from_field: bool, more: More) -> None:
    picture = Picture(KIND, (), me=AT, from_field=from_field, **more)
    at = words_at(picture)
    one, two = ("← side 1", "side 2 →") if more else ("side 1", "side 2")
    assert at[one][0] < at[two][0], "side 1 is the left of whoever looks"
    numbers = [y for word, (_, y) in at.items() if word.isdigit()]
    assert numbers, "a yard line is named"
    front, back = max(numbers), at["back"][1]
    assert (front < back) is from_field, "the front is at the top for a marcher"
    assert "rotate" not in render_to_string("shows/picture.html", {"picture": picture})


def test_from_the_field_the_picture_is_turned_by_half_a_turn() -> None:
    seen, turned = Picture(KIND, ()), Picture(KIND, (), from_field=True)
    _, _, width, height = seen.window
    for x, y in ((AT.x, AT.y), (-8 * STEP, 0), (0, FIELD_WIDTH)):
        across, down = seen.place(x, y)
        assert turned.place(x, y) == (width - across, height - down)
    assert "(seen from the field)" in (drawn(turned)[0].text or "")
    assert "seen from" not in (drawn(seen)[0].text or "")


def boxes_of(marks: list[Mark], size: float) -> list[labels.Box]:
    return [labels.box_of(m.label, m.x, m.y, size) for m in marks]


@pytest.mark.parametrize("larger", [1.0, ON_PHONES])
def test_labels_keep_clear_of_each_other_and_of_those_named(larger: float) -> None:
    near = BLOCK[44:50]
    picture = Picture(
        KIND, tuple(d for d in BLOCK if d not in near), me=near[0], named=near[1:], close=True
    )
    assert picture.me_mark is not None
    marks = [picture.me_mark, *picture.named_marks]
    assert [m.label.text for m in marks] == [d.label for d in near]
    boxes = boxes_of(marks, picture.letter * larger)
    for one, other in itertools.combinations(boxes, 2):
        assert not labels.overlaps(one, other)
    for box, mark in itertools.product(boxes, marks):
        assert not labels.overlaps(box, labels.square(mark.x, mark.y, picture.dot / 2))


def test_a_label_is_not_crossed_by_the_way_to_its_dot() -> None:
    before = DrawnDot(AT.x, AT.y + 4 * STEP)
    picture = Picture(KIND, (), me=AT, ways=((before, AT),), close=True)
    assert picture.me_mark is not None
    (box,) = boxes_of([picture.me_mark], picture.letter)
    assert not labels.crosses((picture.place(before.x, before.y), picture.place(AT.x, AT.y)), box)


def test_a_label_that_stands_further_off_has_a_line_to_it() -> None:
    hole = BLOCK[55]
    others = tuple(d for d in BLOCK if d != hole)
    (alone,) = Picture(KIND, (), holes=(hole,)).marks
    (among,) = Picture(KIND, others, holes=(hole,)).marks
    assert alone.label.lead == "" and among.label.lead.startswith("M")


def test_open_and_closed_up_dots_are_named_without_colour() -> None:
    picture = Picture(KIND, (), opens=(BLOCK[0],), closed=(BLOCK[30],))
    root = drawn(picture)
    tags = [g for g in root.findall("{*}g") if (g.get("class") or "").startswith("tags")]
    assert [[t.text for t in tag.iter() if t.text] for tag in tags] == [["10-0"], ["(10-3)"]]
    assert [len(list(tag.findall(".//{*}circle"))) for tag in tags] == [1, 0]


def test_only_what_is_not_as_usual_is_marked_and_by_shape() -> None:
    unsure, stand_in, both = BLOCK[0], BLOCK[40], BLOCK[80]
    usual = tuple(d for d in BLOCK if d not in (unsure, stand_in, both))
    picture = Picture(KIND, usual, stand_ins=(stand_in, both), doubtful=(unsure, both), pale=True)
    root = drawn(picture)
    (dots,) = root.findall("{*}path[@class='dots faint']")
    assert (dots.get("d") or "").count("M") == len(usual)
    shapes = {
        mark.dot: {p.get("class") for p in group.findall(".//{*}path") if p.get("class")}
        for mark, group in zip(picture.marks, root.findall("{*}g[@transform]")[1:], strict=True)
    }
    assert shapes == {
        stand_in.label: {"bar"},
        both.label: {"bar", "tick"},
        unsure.label: {"tick"},
    }
    assert {m.words for m in picture.marks} == {
        f"{stand_in.label}, stand-in",
        f"{both.label}, stand-in, doubtful",
        f"{unsure.label}, doubtful",
    }


def test_oneself_is_ringed_and_the_whole_field_is_in_sight() -> None:
    for x in (-50, 50):
        me = DrawnDot(x * 8 * STEP // 5, 0, "4-5")
        picture = Picture(KIND, BLOCK, me=me)
        assert not picture.is_part and picture.me_mark is not None
        left, top, width, height = picture.window
        across, down = picture.place(me.x, me.y)
        assert left < across - picture.me_ring and across + picture.me_ring < left + width
        assert top < down - picture.me_ring and down + picture.me_ring < top + height
        assert picture.me_mark.label.has_room
        assert [c.get("class") for c in drawn(picture).findall(".//{*}circle")] == ["ring", "me"]


def test_a_part_shows_where_on_the_field_it_lies() -> None:
    whole, part = Picture(KIND, BLOCK), Picture(KIND, BLOCK, me=AT, close=True)
    page = render_to_string("shows/picture.html", {"picture": part})
    (shown,) = ElementTree.fromstring(page).findall(".//{*}rect")
    assert [float(shown.get(n, 0)) for n in ("x", "y", "width", "height")] == list(part.window)
    assert "field-window" not in render_to_string("shows/picture.html", {"picture": whole})


def test_a_number_at_the_edge_is_left_out_rather_than_cut() -> None:
    for x in range(-60, 61, 3):
        picture = Picture(KIND, (), me=DrawnDot(x * STEP, 40 * STEP, "1-1"), close=True)
        left, _, width, _ = picture.window
        for at, _, shown in picture.front_row.numbers:
            half = 0.6 * picture.letter
            assert not shown or (left < at - half and at + half < left + width)


def test_everybody_named_can_move_even_without_a_label() -> None:
    picture = Picture(KIND, (), named=BLOCK, close=True)
    marks = drawn(picture).findall("{*}g[@class='named']")
    assert [mark.get("data-dot") for mark in marks] == [d.label for d in BLOCK]
    spare = [mark for mark in marks if mark.get("tabindex") == "0"]
    assert 4 < len(spare) < len(BLOCK), "those without room say their name on focus"
    assert all(mark.get("aria-label") == mark.get("data-dot") for mark in spare)


def test_of_very_many_rings_those_without_room_go_without_a_label() -> None:
    picture = Picture(KIND, (), holes=BLOCK)
    marks = picture.marks
    assert len(marks) == len(BLOCK), "every ring is drawn"
    shown = [m for m in marks if m.seen is When.ALWAYS]
    assert 4 < len(shown) < len(BLOCK)
    boxes = boxes_of(shown, picture.letter * ON_PHONES)
    for one, other in itertools.combinations(boxes, 2):
        assert not labels.overlaps(one, other)
