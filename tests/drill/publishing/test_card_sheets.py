"""Spot cards of a revision, eight to a sheet, asked for on its page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import pytest
from django.urls import reverse

from bandops import doctor
from bandops.lib.outbox.models import Job
from bandops.lib.pdf import render
from drill.lineup.models import Lineup
from drill.lineup.sheets import sheets
from drill.publishing.pdf.cards import cards_of
from drill.publishing.services.print_kinds import render_print
from roster.people.models import Person
from tests.architecture.world import client_of
from tests.drill.publishing.revision_prints import pdf, second, texts
from tests.factories import Cast

__all__ = ["second"]

pytestmark = pytest.mark.django_db


def test_everybody_who_marches_or_stands_by_has_one_card(second: Lineup) -> None:
    cards = {card.name: card for card in cards_of(second, sheets(second))}
    assert len(cards) == len(list(cards_of(second, sheets(second))))
    assert "Cai Ørnberg" not in cards and "Hal Brook" not in cards, "they are out"
    ida = cards["Ida Voss"]
    assert ida.spots == ["1-3"] and [str(x.segment) for x in ida.lines] == ["Pregame", "Halftime"]
    assert cards["Jon Pell"].lines == () and cards["Jon Pell"].backup_for == ("1-2",)


@pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_eight_cards_stand_on_a_sheet_each_with_its_stamp(second: Lineup, paper: str) -> None:
    pages = texts(pdf(second, "cards", paper))
    assert [page.count("scan to see if it is current") for page in pages] == [8, 1]
    assert "Pregame, 2:00 PM: 1-3 STAND-IN for Cai Ørnberg" in pages[0]
    assert "call 11:00 AM" in pages[0] and "page 1 of 2" in pages[0]
    assert not any(word in " ".join(pages).lower() for word in ("doubtful", "health", "conduct"))


@pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_nothing_on_a_card_runs_into_anything_else(
    second: Lineup, paper: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    Person.objects.update(used_name="Bartholomea Ashcombe-Featherstonehale-Llewellynor")
    written: list[str] = []

    def kept(html: str) -> bytes:
        written.append(html)
        return b""

    monkeypatch.setattr(render, "write_pdf", kept)
    render_print(second, "cards", paper, "")
    cards = list(_cards(written[0]))
    assert len(cards) == 9
    for card, words in cards:
        spot, name, *rest, stamp = words
        assert name.right <= spot.left or name.bottom <= spot.top
        for above, below in pairwise([name, *rest, stamp]):
            assert above.bottom <= below.top + 1, "they run into each other"
        assert stamp.bottom <= card.bottom
    for (left, _), (right, _) in _in_pairs(cards):
        assert left.top == right.top and left.right <= right.left


@dataclass(frozen=True)
class Area:
    """Where something stands on the page, in pixels of CSS."""

    left: float
    top: float
    right: float
    bottom: float


def _cards(html: str) -> Iterator[tuple[Area, list[Area]]]:
    """Each card with its paragraphs: the spot, the name, the others, the stamp."""
    from weasyprint import HTML

    source = HTML(string=html, base_url=render.HERE.as_uri() + "/")
    for page in render._fitted(source).pages:
        for box in page._page_box.descendants(placeholders=True):
            if box.element_tag == "article":
                yield _area(box), [_text(part) for part in box.children]


def _area(box: Any) -> Area:
    left, top = box.border_box_x(), box.border_box_y()
    return Area(left, top, left + box.border_width(), top + box.border_height())


def _text(box: Any) -> Area:
    """What the lines of a paragraph cover, without the room beside them."""
    lines = [piece for line in box.children for piece in getattr(line, "children", ())]
    right = max((piece.position_x + piece.margin_width() for piece in lines), default=0.0)
    area = _area(box)
    return Area(box.content_box_x(), area.top, right, area.bottom)


def _in_pairs(cards: list[Any]) -> Iterator[tuple[Any, Any]]:
    return zip(cards[::2], cards[1::2], strict=False)


def test_they_are_asked_for_on_the_revision_s_page(second: Lineup, cast: Cast) -> None:
    staff, before = client_of(cast, "staff"), Job.objects.count()
    url = reverse("revision-prints", args=[second.pk])
    staff.post(url, {"paper": "a4", "only": "cards"})
    (job,) = Job.objects.order_by("pk")[before:]
    assert job.payload == {"lineup": second.pk, "print": "cards", "paper": "a4", "only": ""}
    staff.post(url, {"paper": "a4", "only": "posters"})
    assert Job.objects.count() == before + 1
