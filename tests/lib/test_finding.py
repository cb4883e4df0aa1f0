"""Finding by what somebody types: marks, case, order and slips are forgiven, wrong numbers not."""

from __future__ import annotations

import itertools
import random
import string

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bandops.lib.finding.finding import MOST_SHOWN, Entry, Fit, Found, find, fit

KINDS = ("Members", "Ranks", "Events", "Spots")
NAMES = (
    "Ana Núñez",
    "Cai Ørnberg",
    "Lou Fenwick",
    "Mo Fenwicke",
    "Seán O’Brannigan",
    "Kit Moss",
    "नीता वर्मा",
    "Bo Larkspur",
)


def member(name: str, key: int = 0, words: str = "") -> Entry:
    return Entry("Members", name, key, words)


def spot(label: str, words: str = "") -> Entry:
    return Entry("Spots", label, sum(map(ord, label)), words, code=True)


BAND = [member(name, number) for number, name in enumerate(NAMES)] + [
    Entry("Ranks", "Rank 4", 4),
    Entry("Events", "Pellowick at home", 1, "game Saturday 17 October"),
    *(spot(label) for label in ("4-1", "4-11", "41-1", "11-4", "Drum 1-3")),
]


def labels(found: Found) -> list[str]:
    return [hit.entry.label for group in found.groups for hit in group.hits]


def named(text: str, entries: list[Entry] | None = None) -> list[str]:
    return labels(find(text, entries if entries is not None else BAND, KINDS))


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("nunez", "Ana Núñez"),
        ("NÚÑEZ", "Ana Núñez"),
        ("ornberg", "Cai Ørnberg"),
        ("Órnberg", "Cai Ørnberg"),
        ("obrannigan", "Seán O’Brannigan"),
        ("o'brannigan sean", "Seán O’Brannigan"),
        ("नीता", "नीता वर्मा"),
        ("lark", "Bo Larkspur"),
        ("spur", None),
        ("Ana\u0301 nu\u0301n\u0303ez", "Ana Núñez"),
    ],
)
def test_marks_and_case_do_not_matter(typed: str, name: str | None) -> None:
    assert named(typed) == ([name] if name else [])


@pytest.mark.parametrize(
    "typed",
    [
        "Larkspur, Bo",
        "LARKSPUR, BO J.",
        "Bo “Bobby” Larkspur",
        "Bo (Bobby) Larkspur Jr.",
        "Larkspur III, Bo",
    ],
)
def test_a_name_is_found_as_files_write_it(typed: str) -> None:
    assert named(typed) == ["Bo Larkspur"]


@pytest.mark.parametrize("words", list(itertools.permutations(["larkspur", "bo"])))
def test_words_may_come_in_any_order_and_all_must_fit(words: tuple[str, ...]) -> None:
    assert named(" ".join(words)) == ["Bo Larkspur"]
    assert named(" ".join([*words, "fenwick"])) == []


@pytest.mark.parametrize(
    ("typed", "word", "expected"),
    [
        ("moss", "moss", Fit.EXACT),
        ("mos", "moss", Fit.PREFIX),
        ("mo", "mi", None),
        ("mis", "mos", None),  # three letters: no slip
        ("mops", "moss", Fit.SLIP),  # wrong
        ("mosss", "moss", Fit.SLIP),  # too many
        ("mss", "moss", None),
        ("osss", "moss", None),
        ("fenwik", "fenwick", Fit.SLIP),  # too few
        ("fnewick", "fenwick", Fit.SLIP),  # exchanged
        ("fnewik", "fenwick", None),  # two slips in six letters
        ("fnewicck", "fenwick", Fit.SLIP),  # two slips in eight
        ("fnewcik", "fenwick", Fit.SLIP),
        ("fnewccik", "fenwick", None),  # three
        ("fenwick", "f", None),
        ("2099", "2098", None),
        ("s00123", "s00124", None),
    ],
)
def test_slips(typed: str, word: str, expected: Fit | None) -> None:
    assert fit(typed, word) is expected


def slips_between(one: str, other: str) -> int:
    """Letters changed at most twice, by trying everything: independent of the library."""
    found = {one}
    for count in range(3):
        if other in found:
            return count
        found = {changed for word in found for changed in _changed(word, other)}
    return 3


def _changed(word: str, letters: str) -> set[str]:
    cuts = [(word[:n], word[n:]) for n in range(len(word) + 1)]
    made = {a + b[1:] for a, b in cuts if b}
    made |= {a + b[1] + b[0] + b[2:] for a, b in cuts if len(b) > 1}
    made |= {a + c + b[1:] for a, b in cuts if b for c in letters}
    return made | {a + c + b for a, b in cuts for c in letters}


def test_slips_are_those_that_trying_everything_finds() -> None:
    draw = random.Random(5)
    seen = set()
    for _ in range(300):
        word = "".join(draw.choices("abc", k=draw.randint(4, 8)))
        typed = list(word)
        for _ in range(draw.randint(0, 3)):
            typed.insert(draw.randrange(len(typed)), typed.pop(draw.randrange(len(typed))))
        text = "".join(typed)
        allowed = 1 if len(text) < 7 else 2
        expected = slips_between(text, word) <= allowed or word.startswith(text)
        assert (fit(text, word) is not None) == expected, (text, word)
        seen.add(expected)
    assert seen == {True, False}


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("4-11", ["4-11"]),
        ("4 11", ["4-11"]),
        ("4/11", ["4-11"]),
        ("411", ["4-11", "41-1"]),
        ("4-1", ["4-1"]),
        ("11-4", ["11-4"]),
        ("drum 1-3", ["Drum 1-3"]),
        ("drum13", ["Drum 1-3"]),
        ("4", ["Rank 4"]),
        ("rank 4", ["Rank 4"]),
        ("rank 5", []),
        ("4-12", []),
        ("17 oct", ["Pellowick at home"]),
    ],
)
def test_spots_are_found_as_a_whole(typed: str, found: list[str]) -> None:
    assert named(typed) == found


def test_a_spot_is_found_by_who_holds_it_and_with_more_words() -> None:
    band = [spot("4-11", "Ana Núñez trumpet"), spot("4-1", "Kit Moss trumpet")]
    assert named("nunez", band) == ["4-11"]
    assert named("trumpet 4-1", band) == ["4-1"]
    assert named("4-1 nunez", band) == []


@pytest.mark.parametrize("typed", ["004417", "4417", "0044"])
def test_numbers_are_found_with_and_without_zeros(typed: str) -> None:
    assert named(typed, [member("Ana Núñez", words="004417")]) == ["Ana Núñez"]


@pytest.mark.parametrize("typed", ["004418", "441", "44", "17"])
def test_a_wrong_number_finds_nobody(typed: str) -> None:
    assert named(typed, [member("Ana Núñez", words="004417")]) == []


def test_the_order_is_better_fit_then_kind_then_label() -> None:
    band = [
        Entry("Events", "Fenwick", 1),
        member("Zoe Fenwick", 2),
        member("Abe Fenwicke", 3),
        member("Amy Fenwich", 4),
        member("Ana Fenwick", 5),
        member("Ana Fenwick", 6),
    ]
    found = find("fenwick", band, KINDS)
    assert labels(found) == [
        "Ana Fenwick",
        "Ana Fenwick",
        "Zoe Fenwick",
        "Abe Fenwicke",
        "Amy Fenwich",
        "Fenwick",
    ]
    assert [hit.close for hit in found.groups[0].hits] == [False] * 4 + [True]
    assert not found.only_close
    assert find("fenwick", band[::-1], KINDS) == found


def test_it_says_when_everything_is_only_close() -> None:
    found = find("fenwikc", BAND, KINDS)
    assert found.only_close and labels(found)[0] == "Lou Fenwick"
    assert not find("nobody", BAND, KINDS).only_close


def test_at_most_thirty_are_shown_and_all_are_counted() -> None:
    band = [member(f"Fen {n}", n) for n in range(40)] + [Entry("Ranks", "Rank Fen", 1)]
    found = find("fen", band, KINDS)
    assert (found.total, found.shown) == (41, MOST_SHOWN)
    assert [(g.kind, g.count, len(g.hits)) for g in found.groups] == [
        ("Members", 40, MOST_SHOWN),
        ("Ranks", 1, 0),
    ]


@pytest.mark.parametrize("text", ["", "   ", "\0", "-", "…", "\u200b", "🎺"])
def test_nothing_to_compare_finds_nothing(text: str) -> None:
    assert find(text, BAND, KINDS) == Found()


@settings(deadline=None)
@given(st.text(), st.text())
def test_any_text_is_borne(text: str, name: str) -> None:
    entries = [*BAND, member(name, 99), spot(name or "-")]
    assert find(text, entries, KINDS) == find(text, entries[::-1], KINDS)


def test_only_the_first_hundred_characters_count() -> None:
    assert named("moss " + " " * 95 + "fenwick") == ["Kit Moss"]
    assert named(" ".join(["moss"] * 500_000)) == ["Kit Moss"]
    assert named(string.printable * 1000) == []
