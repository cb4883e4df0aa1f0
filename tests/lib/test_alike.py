"""What two entries share that are one person, and what two people share by chance."""

from __future__ import annotations

import pytest

from bandops.lib.alike import AlikeIndex, Entry, Shared, bare_number, bare_phone


@pytest.mark.parametrize(
    ("text", "bare"),
    [
        ("(555) 010-4477", "5550104477"),
        ("+1 555.010.4477", "5550104477"),
        ("555-010-4477 ext. 12", "5550104477"),
        ("555-010-4477x3", "5550104477"),
        ("010-4477", "0104477"),
        ("none", ""),
        ("12", ""),
    ],
)
def test_a_phone_is_its_digits(text: str, bare: str) -> None:
    assert bare_phone(text) == bare


def test_a_number_is_one_without_its_zeros() -> None:
    assert bare_number("004 417") == bare_number("4417") == bare_number("4417 ")
    assert bare_number("AB12") == bare_number("ab12")
    assert bare_number("") == ""


KNOWN = Entry(
    "known", ("Margaret O'Dell", "Peg O'Dell"), "peg@q.example", "0044", ("555 010 4477",)
)


@pytest.mark.parametrize(
    ("entry", "shared"),
    [
        (Entry("new", ("Zed Quarry",), " PEG@q.example"), [Shared.EMAIL]),
        (Entry("new", ("Zed Quarry",), phones=("1-555-010-4477",)), [Shared.PHONE]),
        (Entry("new", ("Zed Quarry",), number="44"), [Shared.NUMBER]),
        (Entry("new", ("ODELL, PEG",)), [Shared.NAME]),
        (Entry("new", ("ODELL, PEG",), number="77"), [Shared.NAME]),
        (Entry("new", ("Margret O'Dell",)), [Shared.NEAR]),
        (Entry("new", ("Margaret J. O'Dell",)), [Shared.NEAR]),
        (Entry("new", ("Margret O'Dell",), number="77"), []),
        (Entry("new", ("Zed Quarry",), number="77", phones=("555 010 4477",)), []),
        (Entry("new", ("Zed Quarry",)), []),
        (Entry("known", ("Peg O'Dell",)), []),
    ],
)
def test_what_two_entries_share(entry: Entry[str], shared: list[Shared]) -> None:
    assert AlikeIndex([KNOWN]).like(entry).get("known", []) == shared


def test_whoever_shares_most_comes_first() -> None:
    other = Entry("other", ("Peg O'Dell",), "peg@q.example")
    found = AlikeIndex([KNOWN, other]).like(Entry("new", ("Peg Odell",), "peg@q.example", "0044"))
    assert list(found) == ["known", "other"]
    assert found["known"] == [Shared.NAME, Shared.NUMBER, Shared.EMAIL]
