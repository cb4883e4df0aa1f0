"""The same coordinates on another field."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.field.core.field import FIELD_TYPES, FIELD_WIDTH, FieldType, units
from drill.field.core.spoken import Style, depth_words, parse_depth
from drill.shows.core.refield import rewrite

COLLEGE, SCHOOL, PRO = FIELD_TYPES["60 ft"], FIELD_TYPES["53 ft 4 in"], FIELD_TYPES["70 ft 9 in"]
RULES = "NCAA Rule 1-2-1, NFHS Rule 1-2-3, NFL Rule 1: hashes at 60 ft, 53 ft 4 in, 70 ft 9 in"

kinds = st.sampled_from(list(FIELD_TYPES.values()))
depths = st.lists(st.integers(-720, FIELD_WIDTH + 720), max_size=20)


@pytest.mark.source(RULES)
@pytest.mark.parametrize(
    ("kind", "words", "exact"),
    [
        (PRO, "2.25 behind the front hash", Fraction(34, 15)),
        (SCHOOL, "11.5 behind the front hash", Fraction(104, 9)),
    ],
)
def test_eight_behind_on_two_other_fields(kind: FieldType, words: str, exact: Fraction) -> None:
    """34/15 is 2.27, 104/9 is 11.56."""
    made = rewrite([units(40), units(10)], COLLEGE, kind)
    assert made.keys() == {units(40)}, "10 behind the sideline is that on every field"
    text = made[units(40)]
    assert (text.old, text.new, text.exact) == ("8 behind the front hash", words, exact)


@given(ys=depths, before=kinds, after=kinds, sixteenths=st.booleans(), rounded=st.booleans())
def test_what_changes_names_a_hash_and_the_rest_stays(
    ys: list[int], before: FieldType, after: FieldType, sixteenths: bool, rounded: bool
) -> None:
    style = Style(sixteenths=sixteenths, rounded=rounded)
    made = rewrite(ys, before, after, style)
    for y in ys:
        if y not in made:
            assert depth_words(y, before, style) == depth_words(y, after, style)
        elif not rounded:
            assert "hash" in made[y].old + made[y].new
            read = parse_depth(made[y].new, after, style)
            assert abs(read - y) <= style.grain / 2


@given(ys=depths, kind=kinds)
def test_nothing_changes_on_a_field_of_the_same_hashes(ys: list[int], kind: FieldType) -> None:
    assert rewrite(ys, kind, FieldType("another name", kind.front_hash, kind.back_hash)) == {}
