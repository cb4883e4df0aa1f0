"""The rehearsal call: who learns what, who is away, and never why."""

from __future__ import annotations

import datetime

import pytest

from bandops import doctor
from drill.events.models import Event
from drill.lineup.models import Backup, Lineup
from tests.drill.calls.rehearsal_calls import pdf, rehearsal
from tests.drill.publishing.revision_prints import out, publish, texts
from tests.drill.rehearsals.rehearsing import make_rehearsal
from tests.factories import Band, Cast

__all__ = ["rehearsal"]

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]


def test_a_page_a_rank_with_blocks_times_and_dots(rehearsal: Event, band: Band, cast: Cast) -> None:
    publish(band, cast)
    one, two = texts(pdf(rehearsal))
    for page, rank in ((one, "Rank 1"), (two, "Rank 2")):
        assert page.startswith(f"{rank} · rehearsal call Thu, Oct 15, call 4:15 PM")
        assert "4:30 to 6:00 PM Halftime in full Mill Lane practice field Tidewheel" in page
        assert "Only the athletic trainer clears anyone to march." in page
    assert "Ana Núñez" in one and "Ana Núñez" not in two


def test_who_rehearses_each_spot_by_word_and_sign(rehearsal: Event, band: Band, cast: Cast) -> None:
    publish(band, cast)
    one, two = texts(pdf(rehearsal))
    assert "1-1 Ana Núñez 1-2" in one
    assert "1-3 Ida Voss ▸ stands in for Cai Ørnberg" in one
    assert "1-4 Dee Quill ? doubtful" in one
    assert "1-5 Eno Farrow × unavailable at the rehearsal" in one
    assert "2-3 OPEN" in two
    assert "× Unavailable at the rehearsal: Eno Farrow" in one
    assert "Nobody in the rank is reported away." in two


def test_segments_that_differ_are_told_apart(rehearsal: Event, band: Band, cast: Cast) -> None:
    out(band, cast, "Bo Larkspur", segment=band.halftime)
    publish(band, cast)
    one = texts(pdf(rehearsal))[0]
    assert "1-2 Pregame: Bo Larkspur Halftime:" in one


def learn_lists(page: str) -> str:
    return page[page.index("Alternates: what each learns") : page.index("Heat and load")]


def test_every_alternate_has_a_learn_list_with_starts(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    """Lessons of the week; without them the named backups; each with where it starts."""
    publish(band, cast)
    one, two = (learn_lists(page) for page in texts(pdf(rehearsal)))
    ida, jon = one.index("Ida Voss"), one.index("Jon Pell")
    assert "1-2 first backup" in one[ida:jon] and "marches 1-3 Pregame, Halftime" in one[ida:jon]
    assert "1-2 learns it this week" in one[jon:] and "2-2 learns it this week" in one[jon:]
    assert "1-1" not in one[jon:], "this week's lessons come instead of named backups"
    assert "Kit Moss" in two and "2-1 first backup" in two
    # Dots stand one step apart to the right of the 50, eight steps to five yards (common
    # practice, no source): 1-2 is two steps away from it, 2-2 seven.
    assert one[jon:].count("S2: 2 outside 50 4 behind FS") == 2
    assert one[jon:].count("S2: 1 inside 45 4 behind FS") == 2
    assert one.count("Across Depth") == 2 and "FS, BS: front sideline, back sideline" in one


def test_an_alternate_without_a_spot_is_not_forgotten(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    Backup.objects.all().delete()
    assert "no spot to learn: works with the rank" in learn_lists(texts(pdf(rehearsal))[1])


def test_no_reason_is_printed(rehearsal: Event, band: Band, cast: Cast) -> None:
    publish(band, cast)
    printed = " ".join(texts(pdf(rehearsal))).lower()
    for word in ("health", "conduct", "family", "travel", "band rules", "chance", "0.3", "reason"):
        assert word not in printed
    assert "eno farrow" in printed


def test_after_the_last_performance_the_call_still_says_when(band: Band) -> None:
    event = make_rehearsal(band, band.event.date + datetime.timedelta(days=3))
    page = texts(pdf(event))[0]
    assert "No performance is coming up." in page and "Halftime in full" in page
    assert not Lineup.objects.exists()
