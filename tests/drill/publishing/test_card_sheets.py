"""Spot cards of a revision, eight to a sheet, asked for on its page."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops import doctor
from bandops.lib.outbox.models import Job
from drill.lineup.models import Lineup
from drill.lineup.sheets import sheets
from drill.publishing.pdf.cards import cards_of
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


def test_they_are_asked_for_on_the_revision_s_page(second: Lineup, cast: Cast) -> None:
    staff, before = client_of(cast, "staff"), Job.objects.count()
    url = reverse("revision-prints", args=[second.pk])
    staff.post(url, {"paper": "a4", "only": "cards"})
    (job,) = Job.objects.order_by("pk")[before:]
    assert job.payload == {"lineup": second.pk, "print": "cards", "paper": "a4", "only": ""}
    staff.post(url, {"paper": "a4", "only": "posters"})
    assert Job.objects.count() == before + 1
