"""The prints of a revision: pages, marks, and what stands on each."""

from __future__ import annotations

import re

import pytest

from bandops import doctor
from bandops.lib.dates import stamp_words
from drill.lineup.models import Lineup
from drill.publishing.services.print_kinds import render_print
from tests.drill.publishing.revision_prints import out, pdf, publish, second, tags, texts
from tests.factories import Band, Cast

__all__ = ["second"]

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]


def test_the_front_page_says_what_is_open_what_changed_and_who_stands_in(second: Lineup) -> None:
    front = texts(pdf(second))[0]
    assert front.startswith("Pellowick at home Sat, Oct 17, 2099")
    assert re.search(r"7 of 8 spots filled 1 ?open spot 1 ?stand-in", front)
    holes, changes = front.index("Open spots"), front.index("Changes since revision 1")
    assert "2-3 OPEN Sousaphone, Pregame, Halftime" in front[holes:changes]
    assert "1-3 Ida Voss Cai Ørnberg In Pregame, Halftime" in front[holes:changes]
    for line in (
        "Pregame, Halftime: Cai Ørnberg steps out of 1-3",
        "Pregame, Halftime: Ida Voss steps in at 1-3",
        "Pregame, Halftime: Hal Brook steps out of 2-3",
    ):
        assert line in front[changes:]


def test_a_first_publication_and_a_full_band_say_so(band: Band, cast: Cast) -> None:
    front = texts(pdf(publish(band, cast)))[0]
    assert "None: every spot is filled." in front and "Changes since" not in front


@pytest.mark.parametrize(("kind", "first_rank"), [("lineup", 1), ("assignments", 0)])
def test_each_rank_has_a_page_with_its_spots_and_nobody_elses(
    second: Lineup, kind: str, first_rank: int
) -> None:
    pages = texts(pdf(second, kind))
    assert len(pages) == first_rank + 2
    one, two = pages[first_rank:]
    assert one.startswith("Rank 1") and two.startswith("Rank 2")
    for spot, name in (("1-1", "Ana Núñez"), ("1-3", "Ida Voss"), ("1-5", "Eno Farrow")):
        assert spot in one and name in one and spot not in two
    assert "Fay Ashgrove" in two and "Fay Ashgrove" not in one
    assert re.search(r"2-3 (Sousaphone )?▸ OPEN", two)


def test_what_changed_is_marked_on_the_rank(second: Lineup) -> None:
    rank = texts(pdf(second))[1]
    assert rank.count("▸ Ida Voss") == 2 and "▸ Ana Núñez" not in rank
    assert "▸ changed since revision 1" in rank


def test_backups_and_what_they_start_from_stand_on_the_assignments(second: Lineup) -> None:
    page = texts(pdf(second, "assignments"))[0]
    assert re.search(r"1-2 .*1\. Jon Pell", page)
    assert "Only the athletic trainer clears anyone to march." in page


@pytest.mark.parametrize("kind", ["lineup", "assignments"])
def test_every_page_carries_event_revision_time_and_its_number(second: Lineup, kind: str) -> None:
    assert second.published_at is not None
    moment = second.published_at.astimezone(second.event.zone)
    reader = pdf(second, kind)
    for number, text in enumerate(texts(reader), 1):
        assert "Pellowick at home, Sat, Oct 17, 2099" in text
        assert f"Rev 2, {stamp_words(moment)} · scan" in text
        assert f"page {number} of {len(reader.pages)}" in text


def test_only_the_changed_ranks(band: Band, cast: Cast) -> None:
    publish(band, cast)
    out(band, cast, "Cai Ørnberg")
    second = publish(band, cast, 1)
    pages = texts(pdf(second, only="changes"))
    assert len(pages) == 2 and pages[1].startswith("Rank 1")
    assert [p[:6] for p in texts(pdf(second, "assignments", only="changes"))] == ["Rank 1"]
    made = render_print(second, "lineup", "letter", "changes")
    assert (made.name, made.title) == (
        "lineup-letter-changes",
        "Lineup, US Letter, changed ranks only",
    )


def test_the_same_data_make_the_same_print(second: Lineup) -> None:
    one, two = pdf(second), pdf(Lineup.objects.get(pk=second.pk))
    assert texts(one) == texts(two)
    assert tags(one) == tags(two)


def test_no_reason_and_no_doubt_is_printed(second: Lineup) -> None:
    for kind in ("lineup", "assignments"):
        printed = " ".join(texts(pdf(second, kind))).lower()
        for word in (
            "doubtful",
            "health",
            "conduct",
            "band rules",
            "family",
            "chance",
            "0.3",
            "reason",
        ):
            assert word not in printed
        assert "dee quill" in printed
