"""Study sheets and evaluation sequences, made, printed and removed."""

from __future__ import annotations

import io

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from drill.fundamentals.models import EvaluationSequence, Fundamental
from drill.fundamentals.services.examples import add_offered
from drill.fundamentals.services.fundamentals import built_in, save_fundamental
from drill.fundamentals.services.sequences import groups_of, make_sequence
from tests.answers import Response, text
from tests.drill.fundamentals.fundamentals_help import HOP, staff
from tests.factories import Band, Cast

__all__ = ["staff"]

pytestmark = pytest.mark.django_db


def pdf_text(response: Response) -> str:
    pages = PdfReader(io.BytesIO(response.content)).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_study_sheet_holds_what_was_chosen(
    staff: Client, band: Band, cast: Cast, paper: str
) -> None:
    url = reverse("study-sheet-file", args=[paper])
    add_offered(actor=cast.staff, season=band.season, code="four-corners-about")
    said = pdf_text(staff.get(url, {"code": ["four-corners-about", "nonsense"]}))
    assert "Four corners about" in said and "4 right, facing 180° left" in said
    assert "Left flank" not in said
    assert "Only the athletic trainer clears anyone to march." in said
    assert staff.get(reverse("study-sheet-file", args=["a3"])).status_code == 404


def ticked(staff: Client, **query: list[str] | str) -> set[str]:
    page = staff.get(reverse("study-sheet"), query)
    return {it.code for it, on in page.context["choices"] if on}


def test_the_study_sheet_starts_with_what_is_judged(staff: Client, band: Band, cast: Cast) -> None:
    assert ticked(staff) == set()
    page = text(staff.get(reverse("study-sheet")))
    assert (
        "Choose all" in page
        and "Check what candidates should learn" in page
        and "Print on" not in page
    )
    codes = ["forward", "left-flank", "right-flank", "to-the-rear"]
    for label, chosen in (("One", codes), ("Two", [*codes[1:], "backward"])):
        make_sequence(
            actor=cast.staff,
            season=band.season,
            label=label,
            codes=chosen,
            counts=32,
            square=16,
            groups=1,
            seed=7,
        )
    assert ticked(staff) == {*codes, "backward"}
    assert ticked(staff, code="halt") == {"halt"}
    assert ticked(staff, chosen="yes") == set(), "somebody wants none of them"
    assert ticked(staff, all="yes", chosen="yes", code="halt") == set(built_in())


def test_a_sequence_is_made_seen_printed_and_removed(staff: Client, band: Band, cast: Cast) -> None:
    sent = {
        "label": "First evening",
        "codes": ["forward", "left-flank", "right-flank", "to-the-rear"],
        "counts": 32,
        "square": 16,
        "groups": 2,
        "seed": 7,
    }
    staff.post(reverse("sequences"), sent)
    row = EvaluationSequence.objects.get()
    assert len({group.difficulty for group in groups_of(row)}) == 1
    page = text(staff.get(reverse("sequence", args=[row.pk])))
    assert "Group 2" in page and "Difficulty" in page and "29 to 32" in page
    response = staff.get(reverse("sequence-file", args=[row.pk, "letter"]))
    said = pdf_text(response)
    assert "group 2 of 2" in said and "29 to 32" in said
    assert len(PdfReader(io.BytesIO(response.content)).pages) == 2
    assert not any(name in said for name in band.members)
    assert "already" in text(staff.post(reverse("sequences"), sent))
    staff.post(reverse("sequence-remove", args=[row.pk]))
    assert not EvaluationSequence.objects.exists()


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"counts": 31}, "even number of counts"),
        ({"counts": 4}, "need at least 6 counts"),
        ({"codes": ["forward"]}, "No sequence comes back"),
        ({"codes": ["nonsense"]}, "not one of the available choices"),
    ],
)
def test_a_sequence_that_cannot_be_says_why(
    staff: Client, changed: dict[str, object], says: str
) -> None:
    sent = {"label": "A", "codes": ["forward", "left-flank", "to-the-rear"], "counts": 32}
    sent |= {"square": 16, "groups": 1, "seed": 7}
    assert says in text(staff.post(reverse("sequences"), sent | changed))


def test_a_sequence_whose_fundamental_is_gone_says_so(
    staff: Client, band: Band, cast: Cast
) -> None:
    row = EvaluationSequence.objects.create(
        season=band.season,
        label="Old",
        seed=1,
        counts=4,
        square=8,
        codes=["hop"],
        moves=[[["hop", 4]]],
    )
    assert "is gone" in text(staff.get(reverse("sequence", args=[row.pk])))
    assert staff.get(reverse("sequence-file", args=[row.pk, "letter"])).status_code == 302


def test_a_name_of_any_script_is_a_name(band: Band, cast: Cast) -> None:
    for name in ("مرحبا", "🎺🎺"):
        definition = HOP | {"name": name, "also": []}
        assert save_fundamental(actor=cast.staff, season=band.season, definition=definition)
    assert set(Fundamental.objects.values_list("code", "name")) == {
        ("own-1", "مرحبا"),
        ("own-2", "🎺🎺"),
    }
