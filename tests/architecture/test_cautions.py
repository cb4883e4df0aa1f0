"""Advice for the body carries the usual caution: on pages, in one part, by what the risk is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from bandops.env import ROOT
from tests.answers import text
from tests.architecture.world import World, client_of, url_of
from tests.factories import Cast

pytestmark = [pytest.mark.django_db, pytest.mark.walk]
PART = '<p class="caution">'
DEFERS = "Follow your athletic trainer and local rules."
RISKS = {
    "": "Heat and load:",
    "heat": "Heat: water, shade and breaks",
    "load": "Another instrument than usual may be heavier",
    "repeats": "Repeats and large steps:",
    "slip": "Tell your rank leader or the athletic trainer at once",
}
# Page -> who looks and the risk it warns of.
PAGES = {
    "fundamentals": ("staff", "repeats"),
    "fundamental": ("staff", "repeats"),
    "fundamental-examples": ("staff", "repeats"),
    "sequences": ("staff", "repeats"),
    "sequence": ("staff", "repeats"),
    "practice": ("staff", "repeats"),
    "set-sheet": ("staff", "repeats"),
    "relearn": ("staff", "repeats"),
    "version-checks": ("staff", "repeats"),
    "move-limits": ("staff", "repeats"),
    "backups-of": ("staff", "repeats"),
    "call": ("staff", ""),
    "event": ("staff", "heat"),
    "my-rank": ("leader", ""),
    "my-backups": ("leader", "repeats"),
    "card": ("member", ""),
}
PRINTS = {
    "fundamentals/print/study.html": "repeats",
    "fundamentals/print/sequence.html": "repeats",
    "learning/print/set_sheets.html": "repeats",
    "calls/print/call.html": "",
    "publishing/print/assignments.html": "",
    "publishing/print/slip.html": "slip",
}


@pytest.fixture
def world(kept_world: World) -> World:
    return kept_world


def cautions(page: str) -> list[str]:
    return re.findall(re.escape(PART) + "(.*?)</p>", page, re.DOTALL)


@pytest.mark.parametrize("name", PAGES)
def test_pages_with_advice_for_the_body_carry_the_caution(
    world: World, cast: Cast, name: str
) -> None:
    role, risk = PAGES[name]
    found = cautions(text(client_of(cast, role).get(url_of(name, world))))
    assert [one for one in found if one.startswith(RISKS[risk]) and DEFERS in one], found


def test_a_study_sheet_carries_it_once_something_is_chosen(world: World, cast: Cast) -> None:
    page = client_of(cast, "staff").get(reverse("study-sheet"), {"all": "yes"})
    (found,) = cautions(text(page))
    assert found.startswith(RISKS["repeats"])


@pytest.mark.parametrize("name", PRINTS)
def test_prints_with_advice_for_the_body_carry_it(name: str) -> None:
    (path,) = ROOT.glob(f"drill/*/templates/{name}")
    found = re.findall(r'{% include "(?:parts|pdf)/caution.html"([^%]*)%}', path.read_text())
    risk = PRINTS[name]
    assert [one.strip() for one in found] == [f'with risk="{risk}"' if risk else ""]


@pytest.mark.parametrize("risk", RISKS)
def test_the_part_names_the_risk_and_defers(risk: str) -> None:
    (said,) = cautions(render_to_string("parts/caution.html", {"risk": risk}))
    assert said.startswith(RISKS[risk]) and DEFERS in said
    assert said.endswith("Only the athletic trainer clears anyone to march.")


def test_nobody_words_it_a_second_time() -> None:
    part = ROOT / "bandops" / "templates" / "parts" / "caution.html"
    wrong = [
        path
        for house in ("bandops", "roster", "drill")
        for path in Path(ROOT / house).rglob("*.html")
        if path != part and 'class="caution"' in path.read_text(encoding="utf-8")
    ]
    assert not wrong
