"""The pages of ranks of every size: one each, or as many as they need, and no leftovers."""

from __future__ import annotations

import re

import pytest

from bandops import doctor
from drill.lineup.models import Lineup
from tests.drill.publishing.rank_sizes import PAGES, SIZES, large_band
from tests.drill.publishing.revision_prints import pdf, texts
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]


@pytest.fixture
def large(band: Band, cast: Cast) -> Lineup:
    return large_band(band, cast)


def rank_pages(pages: list[str], label: str) -> list[str]:
    return [page for page in pages if page.startswith(f"Rank {label} ")]


def rows(page: str, label: str) -> int:
    """How many of the rank's spots have a line: those whose name follows."""
    line = rf"\b({label}-\d+) (?:Clarinet )?(?:▸ )?(?:Konstantina|Ulla|OPEN)"
    return len(set(re.findall(line, page.partition("Alternates")[0].partition("Backups")[0])))


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_rank_has_one_page_unless_it_is_larger_than_thirty(large: Lineup, paper: str) -> None:
    for kind in ("lineup", "assignments"):
        pages = texts(pdf(large, kind, paper))
        for label, count in PAGES.items():
            mine = rank_pages(pages, label)
            assert len(mine) == count, f"{kind}: rank {label}"
            shared = [rows(page, label) for page in mine]
            assert sum(shared) == SIZES[label], f"{kind}: rank {label} has all its rows"
            assert max(shared) - min(shared) <= 1, "none of its pages is left with a few rows"
        fronts = [page for page in pages if not page.startswith("Rank ")]
        if kind == "lineup":
            assert "spots filled" in fronts.pop(0)
            assert all("Changes since" in page for page in fronts)
            assert len(fronts) <= 1
        assert kind == "lineup" or not fronts
