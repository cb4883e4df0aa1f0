"""Members found by what files call them: for certain, or offered."""

from __future__ import annotations

import pytest

from bandops.lib.imports.words import UnknownWord
from roster.people.lookup import MemberIndex
from roster.people.models import Member
from tests.factories import Band

pytestmark = pytest.mark.django_db


@pytest.fixture
def peg(band: Band) -> Member:
    member = band.member("Margaret Jane O'Dell", "trumpet")
    member.person.used_name = "Peg O'Dell"
    member.person.save()
    return member


@pytest.mark.parametrize(
    "text",
    [
        "O'Dell, Margaret",
        "O’DELL, MARGARET J.",
        "Margaret Jane O'Dell",
        "Margaret “Peg” O'Dell",
        "O'Dell, Margaret (Peg)",
        "odell peg",
        "O'Dell Jr., Peg",
        " MARGARET.JANE.ODELL@quillwater.example ",
    ],
)
def test_a_member_is_found_in_every_order_and_dress(band: Band, peg: Member, text: str) -> None:
    assert MemberIndex(band.season).find(text) == peg


def unknown(band: Band, text: str) -> UnknownWord:
    with pytest.raises(UnknownWord) as caught:
        MemberIndex(band.season).find(text)
    return caught.value


def test_an_initial_is_offered_not_guessed(band: Band, peg: Member) -> None:
    word = unknown(band, "P. O'Dell")
    assert (word.kind, word.text) == ("member", "P. O'Dell")
    assert [(c.value, c.label) for c in word.choices] == [(str(peg.pk), "Peg O'Dell (Trumpet)")]
    assert "Did you mean Peg O'Dell?" in str(word)


def test_two_of_a_name_are_offered_with_their_places(band: Band) -> None:
    band.member("Bo James Larkspur", "clarinet")
    band.member("Bo Kent Larkspur", "clarinet")
    assert MemberIndex(band.season).find("Larkspur, Bo").name == "Bo Larkspur"
    labels = [choice.label for choice in unknown(band, "Larkspur, Bo J.").choices]
    assert labels == ["Bo Larkspur (Trumpet, 1-2)", "Bo James Larkspur (Clarinet)"]


def test_a_number_without_its_zeros_is_offered(band: Band) -> None:
    assert [c.label for c in unknown(band, "4417").choices] == ["Ana Núñez (Trumpet, 1-1)"]


def test_a_word_that_staff_have_settled_is_known(band: Band, peg: Member) -> None:
    known = {"p odell": str(peg.pk), "ana nunez": "no row"}
    members = MemberIndex(band.season, known)
    assert members.find("P. O'Dell") == peg
    assert members.find("Ana Núñez") == band.members["Ana Núñez"]


def test_nobody_like_it_has_no_choices(band: Band) -> None:
    word = unknown(band, "Zed Quarry")
    assert not word.choices
    assert str(word) == "No member “Zed Quarry” this season."
