"""Names read as people write them: either order, nicknames, suffixes, surnames of several words."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bandops.lib.name_index import NameIndex
from bandops.lib.names import plain
from bandops.lib.person_names import (
    Likeness,
    in_capitals,
    in_small_letters,
    likeness,
    read_columns,
    read_name,
)


@pytest.mark.parametrize(
    ("text", "given_name", "family", "nickname", "suffix"),
    [
        ("Ana Núñez", "Ana", "Núñez", "", ""),
        ("Núñez, Ana", "Ana", "Núñez", "", ""),
        ("Núñez,Ana", "Ana", "Núñez", "", ""),
        ("O'Dell, Margaret “Peg”", "Margaret", "O'Dell", "Peg", ""),
        ("Margaret “Peg” O'Dell", "Margaret", "O'Dell", "Peg", ""),
        ('Margaret "Peg" O\'Dell', "Margaret", "O'Dell", "Peg", ""),
        ("Margaret (Peg) O'Dell", "Margaret", "O'Dell", "Peg", ""),
        ("Margaret [Peg] O’Dell", "Margaret", "O’Dell", "Peg", ""),
        ("Margaret 'Peg' O’Dell", "Margaret", "O’Dell", "Peg", ""),
        ("O'Dell (Peg), Margaret", "Margaret", "O'Dell", "Peg", ""),
        ("Seán 'O'B' O'Brannigan", "Seán", "O'Brannigan", "O'B", ""),
        ("Tamm, Jr.", "", "Tamm", "", "Jr."),
        ("Tamm, Jr., Gus", "Gus", "Tamm", "", "Jr."),
        ("Tamm Jr., Gus", "Gus", "Tamm", "", "Jr."),
        ("Tamm, Gus Jr.", "Gus", "Tamm", "", "Jr."),
        ("Tamm, Gus, III", "Gus", "Tamm", "", "III"),
        ("Gus Tamm, Jr.", "Gus", "Tamm", "", "Jr."),
        ("Gus Tamm III", "Gus", "Tamm", "", "III"),
        ("Gus Tamm V", "Gus", "Tamm", "", "V"),
        ("Gus V. Tamm", "Gus V.", "Tamm", "", ""),
        ("Tamm, V", "V", "Tamm", "", ""),
        ("Tamm, Gus V.", "Gus V.", "Tamm", "", ""),
        ("de la Cruz, María José", "María José", "de la Cruz", "", ""),
        ("María José de la Cruz", "María José", "de la Cruz", "", ""),
        ("Jan van der Berg", "Jan", "van der Berg", "", ""),
        ("van der Berg, Jan", "Jan", "van der Berg", "", ""),
        ("van der Berg", "", "van der Berg", "", ""),
        ("Van Larkspur", "Van", "Larkspur", "", ""),
        ("Núñez Ibarrondo, Ana", "Ana", "Núñez Ibarrondo", "", ""),
        ("Anne-Marie Saint-Just", "Anne-Marie", "Saint-Just", "", ""),
        ("Wirastuti", "Wirastuti", "", "", ""),
        ("“Bo” Larkspur", "Bo", "Larkspur", "", ""),
        ("Wirastuti (Wira)", "Wirastuti", "", "Wira", ""),
        ("“Peg”", "Peg", "", "", ""),
        ("नीता वर्मा", "नीता", "वर्मा", "", ""),
        ("李，小明", "小明", "李", "", ""),
        ("الأحمد، ليلى", "ليلى", "الأحمد", "", ""),
        ("Kit (she/her) Moss", "Kit (she/her)", "Moss", "", ""),
        ("Ana (née Voss) Quill", "Ana (née Voss)", "Quill", "", ""),
        ("Ana (2) Quill", "Ana (2)", "Quill", "", ""),
        ("Ana “Nita Quill", "Ana “Nita", "Quill", "", ""),
        ("  Ana\tNúñez ", "Ana", "Núñez", "", ""),
        ("", "", "", "", ""),
    ],
)
def test_a_name_is_read(
    text: str, given_name: str, family: str, nickname: str, suffix: str
) -> None:
    name = read_name(text)
    assert (name.given, name.family, name.nickname, name.suffix) == (
        given_name,
        family,
        nickname,
        suffix,
    )


@pytest.mark.parametrize(
    ("first", "last", "called", "used"),
    [
        ("Margaret (Peg)", "O'Dell, III", "Margaret O'Dell III", "Peg O'Dell"),
        ("Gus Jr.", "Tamm", "Gus Tamm Jr.", ""),
        ("María José", "de la Cruz", "María José de la Cruz", ""),
        ("", "Wirastuti", "Wirastuti", ""),
        ("Wirastuti", "", "Wirastuti", ""),
        ("V", "Tamm", "V Tamm", ""),
    ],
)
def test_two_columns_are_read(first: str, last: str, called: str, used: str) -> None:
    name = read_columns(first, last)
    assert (name.called, name.used) == (called, used)


@pytest.mark.parametrize(
    ("one", "other", "like"),
    [
        ("NÚÑEZ, ANA", "Ana Nunez", Likeness.SAME),
        ("O’Dell, Peg", "peg odell", Likeness.SAME),
        ("Larkspur Bo", "Bo Larkspur", Likeness.TURNED),
        ("Allen, Scott", "Allen Scott", Likeness.NONE),
        ("Larkspur, Bo James", "Bo Larkspur", Likeness.SHORTER),
        ("Bo J. Larkspur", "Bo James Larkspur", Likeness.SHORTER),
        ("Bo J. Larkspur", "Bo Kent Larkspur", Likeness.NONE),
        ("Bo James Kent Larkspur", "Bo Kent Larkspur", Likeness.SHORTER),
        ("Gus Tamm", "Gus Tamm Jr.", Likeness.SHORTER),
        ("Gus Tamm Sr.", "Gus Tamm Jr.", Likeness.NONE),
        ("B. Larkspur", "Bo Larkspur", Likeness.NONE),
        ("Tim Larkspur", "Tom Larkspur", Likeness.NONE),
        ("", "", Likeness.NONE),
    ],
)
def test_two_names_are_compared(one: str, other: str, like: Likeness) -> None:
    assert likeness(read_name(one), read_name(other)) is like
    assert likeness(read_name(other), read_name(one)) is like


@pytest.mark.parametrize(
    ("text", "small"),
    [
        ("MARGARET O'DELL III", "Margaret O'Dell III"),
        ("SEÁN MCNALLY JR.", "Seán McNally Jr."),
        ("ANNE-MARIE D’ARCY", "Anne-Marie D’Arcy"),
        ("НИНА ВЕТРОВА", "Нина Ветрова"),
    ],
)
def test_capitals_become_a_name(text: str, small: str) -> None:
    assert in_capitals(text)
    assert in_small_letters(text) == small


@pytest.mark.parametrize("text", ["Ana Núñez", "AJ", "नीता वर्मा", "王小明", ""])
def test_other_names_are_not_in_capitals(text: str) -> None:
    assert not in_capitals(text)


@settings(deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_no_letter_of_any_text_is_lost(text: str) -> None:
    name = read_name(text)
    read = plain(f"{name.called} {name.nickname}").replace(" ", "")
    assert sorted(read) == sorted(plain(text).replace(" ", ""))


def index(*people: tuple[str, ...]) -> NameIndex[str]:
    made: NameIndex[str] = NameIndex()
    for person in people:
        made.add(person[0], *person)
    return made


def test_the_surest_rule_that_anybody_meets_counts() -> None:
    people = index(("Ana Núñez",), ("Ana María Núñez",), ("Peg O'Dell", "Margaret O'Dell"))
    assert people.found(read_name("Núñez, Ana")) == (Likeness.SAME, ["Ana Núñez"])
    assert people.found(read_name("Ana M. Núñez")) == (
        Likeness.SHORTER,
        ["Ana Núñez", "Ana María Núñez"],
    )
    assert people.found(read_name("O'Dell, Margaret (Maggie)")) == (Likeness.SAME, ["Peg O'Dell"])
    assert people.found(read_name("Maggie (Peg) O'Dell")) == (Likeness.SAME, ["Peg O'Dell"])


def test_a_name_and_a_nickname_of_two_people_are_both_found() -> None:
    people = index(("Margaret O'Dell",), ("Peg O'Dell",))
    assert len(people.found(read_name("Margaret “Peg” O'Dell"))[1]) == 2


@pytest.mark.parametrize(
    ("text", "offered"),
    [
        ("M. O'Dell", ["Margaret O'Dell"]),
        ("Margret Odell", ["Margaret O'Dell"]),
        ("Larkspurr", ["Bo Larkspur", "Tim Larkspur"]),
        ("Larkspur", ["Bo Larkspur", "Tim Larkspur"]),
        ("Ana Núñez Ibarrondo", ["Ana Núñez"]),
        ("Zed Quarry", []),
    ],
)
def test_who_may_be_meant_is_offered(text: str, offered: list[str]) -> None:
    people = index(("Margaret O'Dell",), ("Bo Larkspur",), ("Tim Larkspur",), ("Ana Núñez",))
    assert people.found(read_name(text))[1] == []
    assert people.near(read_name(text)) == offered
