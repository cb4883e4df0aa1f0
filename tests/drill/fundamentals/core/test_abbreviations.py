"""Abbreviations spelled out, and which can be none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.fundamentals.core import Move
from drill.fundamentals.core.abbreviations import problem, spelled_out, word_problem
from drill.fundamentals.core.word_tokens import NotUnderstood, phrase
from drill.fundamentals.core.words import read_words, written
from tests.drill.fundamentals.core.built_in import BUILT_IN
from tests.drill.fundamentals.core.test_engine import moves

OURS = {
    phrase(word): says
    for word, says in {
        "b8": "back 8",
        "left": "side step left",
        "lf": "left oblique",
        "big corner": "fwd 8, lf 8",
        "home": "facing front",
        "beats": "counts",
    }.items()
}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("B8, hold 4", "back 8, hold 4"),
        ("left 8", "side step left 8"),
        ("left flank 8; slide left 8", "left flank 8; slide left 8"),
        ("big-corner", "fwd 8, left oblique 8"),
        ("Home, forward for 8 beats", "facing front, forward for 8 counts"),
        ("facing side 1, forward 8 at 6 to 5", "facing side 1, forward 8 at 6 to 5"),
        ("lfs 8, b88", "lfs 8, b88"),
    ],
)
def test_whole_words_are_spelled_out(text: str, says: str) -> None:
    assert spelled_out(text, OURS, BUILT_IN) == says


def test_what_they_say_is_read_before_the_usual_meaning() -> None:
    (it,) = read_words(spelled_out("left 8", OURS, BUILT_IN), BUILT_IN)
    assert it.fundamental.code == "side-step-left"


@given(st.lists(moves(), min_size=1, max_size=4))
def test_what_is_written_holds_no_abbreviation(routine: list[Move]) -> None:
    text = written(routine)
    assert spelled_out(text, OURS, BUILT_IN) == text


def test_those_that_can_be_read_have_no_problem() -> None:
    assert {problem(said, OURS, BUILT_IN) for said in OURS} == {None}
    assert problem(phrase("lost"), {phrase("lost"): "at 6 to 5"}, BUILT_IN) is None


@pytest.mark.parametrize(
    ("ours", "says"),
    [
        ({"q": "skip 8"}, "“skip” is not understood"),
        ({"q": "forward 8 8"}, "what the 8 goes with"),
        ({"q": "fwd 8, q"}, "“q” says itself"),
        ({"q": "w", "w": "fwd 8, e", "e": "q 8"}, "“q” says itself"),
        ({"q": "left w", "w": "ww " * 60, "ww": "forward 8 " * 12}, "longer than 300"),
    ],
)
def test_what_cannot_be_read_is_named(ours: dict[str, str], says: str) -> None:
    table = {phrase(word): text for word, text in ours.items()}
    assert says in (problem(("q",), table, BUILT_IN) or "")


def test_a_circle_ends_where_it_is_read_all_the_same() -> None:
    with pytest.raises(NotUnderstood, match="says itself"):
        spelled_out("q 8", {("q",): "w", ("w",): "q"}, BUILT_IN)


@pytest.mark.parametrize(
    ("word", "says"),
    [
        ("", "made of letters"),
        ("8", "made of letters"),
        ("b 8", "made of letters"),
        ("l/f", "made of letters"),
        ("to", "“to” is needed"),
        ("side one", "“side” is needed"),
        ("front", "“front” is needed"),
        ("Left Flank", "always means left flank"),
        ("forward", "always means forward march"),
        ("slide left", "always means lateral slide left"),
    ],
)
def test_words_that_can_be_no_abbreviation(word: str, says: str) -> None:
    assert says in (word_problem(word, BUILT_IN) or "")


@pytest.mark.parametrize("word", ["TR", "lf", "left", "b2", "big corner", "Ü", "half-turn"])
def test_words_that_can(word: str) -> None:
    assert word_problem(word, BUILT_IN) is None
