"""Names: stored in NFC, searched and sorted alike on both databases."""

from __future__ import annotations

import json
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bandops.lib.names import clean_name, plain
from bandops.lib.person_names import sort_key

SOURCES = Path(__file__).parents[1] / "sources"
FORMS = json.loads((SOURCES / "unicode_normalization.json").read_text(encoding="utf-8"))


def characters(points: str) -> str:
    return "".join(chr(int(point[2:], 16)) for point in points.split())


@pytest.mark.source("Unicode Standard Annex 15, NFC")
@pytest.mark.parametrize("case", [c for c in FORMS if c["form"] == "NFC"], ids=lambda c: c["input"])
def test_names_are_stored_in_nfc(case: dict[str, str]) -> None:
    assert clean_name(characters(case["input"])) == characters(case["output"])


@pytest.mark.source("Unicode Standard Annex 15, NFKC")
@pytest.mark.parametrize(
    "case", [c for c in FORMS if c["form"] == "NFKC"], ids=lambda c: c["input"]
)
def test_only_the_search_form_takes_compatibility_letters_apart(case: dict[str, str]) -> None:
    text = characters(case["input"])
    assert clean_name(text) == text
    assert plain(text) == characters(case["output"]).lower()


@settings(deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_the_stored_form_is_stable(text: str) -> None:
    name = clean_name(text)
    assert clean_name(name) == name
    assert unicodedata.is_normalized("NFC", name)
    assert not any(unicodedata.category(c) == "Cc" for c in name)
    assert name == name.strip()


@settings(deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_the_search_form_is_one_for_every_way_to_write_a_name(text: str) -> None:
    assert plain(text) == plain(unicodedata.normalize("NFD", text))
    assert plain(text) == plain(unicodedata.normalize("NFC", text))
    assert plain(plain(text)) == plain(text)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Núñez", "nunez"),
        ("Cai Ørnberg", "CAI ORNBERG"),
        ("Łukasz", "lukasz"),
        ("Straße", "STRASSE"),
        ("O’Brannigan", "O'Brannigan"),
        ("O´Brannigan", "obrannigan"),
        ("Kaʻala", "Ka'ala"),
        ("d'Arcy-Smith", "darcy smith"),
        ("Ａna", "ana"),
    ],
)
def test_a_name_is_found_however_it_is_typed(one: str, other: str) -> None:
    assert plain(one) == plain(other)


@pytest.mark.parametrize(("one", "other"), [("नीता", "नेता"), ("สมชาย", "สมชัย"), ("மீனா", "மானா")])
def test_vowel_signs_tell_names_apart(one: str, other: str) -> None:
    assert plain(one) != plain(other)
    assert " " not in plain(one)


def test_a_name_without_controls_and_turned_marks() -> None:
    assert clean_name(" Ana\tNúñez\r\n\x00 ") == "Ana Núñez"
    assert clean_name("\ufeffAna \u202eNúñez\u202c\u200b") == "Ana Núñez"
    assert clean_name("می\u200cخواهم") == "می\u200cخواهم"


def test_one_word_and_long_names_sort() -> None:
    assert sort_key("Wirastuti") == "wirastuti"
    assert sort_key("Marisol Núñez Ibarrondo") == "ibarrondo marisol nunez"
    assert sort_key("—") == ""


def test_a_suffix_sorts_after_the_name_and_never_by_itself() -> None:
    names = [
        "Bo Larkspur Sr.",
        "Cai Larkspur III",
        "Abe Larkspur, Jr.",
        "Bo Larkspur II",
        "Bo Larkspur",
        "Dee Jarvis",
        "Zoe V Moss V",
    ]
    assert sorted(names, key=sort_key) == [
        "Dee Jarvis",
        "Abe Larkspur, Jr.",
        "Bo Larkspur",
        "Bo Larkspur II",
        "Bo Larkspur Sr.",
        "Cai Larkspur III",
        "Zoe V Moss V",
    ]
    assert sort_key("Ned V") == "v ned"
