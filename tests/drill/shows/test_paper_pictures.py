"""Pictures on paper: what is written is 8 pt and stands clear, or is listed beside."""

from __future__ import annotations

import itertools
import random
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string

from drill.field import labels
from drill.field.core.field import FIELD_TYPES, FIELD_WIDTH
from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.shows.pictures import paper
from drill.shows.pictures.paper import PaperPicture
from drill.shows.pictures.shown import DrawnDot

KIND = FIELD_TYPES["60 ft"]
BLOCK = tuple(
    DrawnDot(2 * STEP * n, 2 * STEP * m, f"{m}-{n}") for n in range(-7, 8) for m in range(10, 24)
)


def some(count: int, seed: int) -> tuple[DrawnDot, ...]:
    return tuple(random.Random(seed).sample(BLOCK, count))


def front(stand_ins: int, holes: int, seed: int = 1, from_field: bool = False) -> PaperPicture:
    """A whole band with some who stand in and some spots open."""
    marked = some(stand_ins + holes, seed)
    return PaperPicture(
        KIND,
        1930,
        tuple(dot for dot in BLOCK if dot not in marked),
        stand_ins=marked[:stand_ins],
        holes=marked[stand_ins:],
        height=880,
        from_field=from_field,
    )


def close(seed: int, from_field: bool = False) -> PaperPicture:
    """A dot and those around, in a block as dense as bands march."""
    me, *near = some(5, seed)
    near = sorted(BLOCK, key=lambda d: (abs(d.x - me.x) + abs(d.y - me.y), d.label))[1:5]
    others = tuple(dot for dot in BLOCK if dot not in (me, *near))
    return PaperPicture(
        KIND, 600, others, me=me, named=tuple(near), height=250, from_field=from_field
    )


PICTURES = [
    *(pytest.param(front(n, 2, n), id=f"{n} stand-ins") for n in (0, 10, 40, 120)),
    *(pytest.param(close(seed), id=f"close {seed}") for seed in range(6)),
    pytest.param(close(9, from_field=True), id="from the field"),
    pytest.param(front(10, 3, from_field=True), id="whole, from the field"),
]


@pytest.mark.parametrize("picture", PICTURES)
def test_everything_written_is_eight_points_and_stands_clear(picture: PaperPicture) -> None:
    context = {"picture": picture, "mm": [side / 10 for side in picture.size]}
    root = ElementTree.fromstring(render_to_string("shows/paper.html", context))
    width = float(root.get("viewBox", "").split()[2])
    millimetres = float(root.get("width", "").removesuffix("mm"))
    points = float(root.get("font-size", "")) * millimetres / width * 72 / 25.4
    assert points >= 8 and not any(
        text.get("font-size") for text in root.iter() if text is not root
    )
    words = [*picture.words, *picture.labels]
    boxes = [
        labels.box_of(labels.Label(w.text, 0, 0, 0, w.anchor), w.x, w.y, paper.LETTER)
        for w in words
    ]
    for one, other in itertools.combinations(boxes, 2):
        assert not labels.overlaps(one, other)
    wide, high = picture.size
    for left, top, right, bottom in boxes:
        assert left >= 0 and top >= 0 and right <= wide and bottom <= high
    for box, (x, y, _) in itertools.product(boxes[len(picture.words) :], picture.marked):
        assert not labels.overlaps(box, labels.square(x, y, paper.DISC - 1))


@pytest.mark.parametrize("picture", PICTURES)
def test_nobody_marked_is_lost(picture: PaperPicture) -> None:
    """Each label is either written or listed, once."""
    marked = [*picture.stand_ins, *picture.holes, *picture.named]
    wanted = {d.label for d in marked} | ({picture.me.label} if picture.me else set())
    seen = [word.text for word in picture.labels]
    assert sorted([*seen, *picture.unlabelled]) == sorted(wanted)


def test_with_room_all_are_written_and_without_some_are_listed() -> None:
    assert front(10, 2).unlabelled == []
    assert front(120, 2).unlabelled
    for dot in front(120, 2).holes:
        assert dot.label not in front(120, 2).unlabelled, "open spots are named first"


def test_the_front_is_where_the_words_have_it() -> None:
    for picture in (front(4, 1), front(4, 1, from_field=True)):
        at = {word.text: word for word in picture.words}
        (_, near), (_, far) = picture.at(0, 0), picture.at(0, FIELD_WIDTH)
        assert (at["50"].y > at["back"].y) is (near > far)
        assert at["side 1"].x < at["side 2"].x


def test_a_part_of_the_field_names_only_the_side_it_is_on() -> None:
    for x, side in ((-60, "side 1"), (60, "side 2")):
        me = DrawnDot(x * STEP, 30 * STEP, "1-1")
        words = {w.text for w in PaperPicture(KIND, 600, me=me, height=250).words}
        assert {"side 1", "side 2"} & words == {side}
        turned = PaperPicture(KIND, 600, me=me, height=250, from_field=True)
        (other,) = {"side 1", "side 2"} - {side}
        assert other in {w.text for w in turned.words}


def test_only_who_is_in_sight_is_drawn() -> None:
    picture = close(3)
    wide, high = picture.size
    assert 0 < len(picture.faint) < len(picture.everyone)
    assert all(0 <= x <= wide and 0 <= y <= high for x, y, _ in picture.faint)
