"""Blocks of a rehearsal, and the next rehearsal as people look for it."""

from __future__ import annotations

import datetime

import pytest
from django.core.exceptions import ValidationError

from bandops.lib.errors import Refused
from drill.events.models import Event
from drill.events.services.events import copy_event
from drill.rehearsals.models import RehearsalBlock
from drill.rehearsals.services.rehearsals import (
    coming_rehearsal,
    remove_block,
    save_block,
    schedule,
)
from tests.drill.rehearsals.rehearsing import DAY, clock, make_rehearsal, tidewheel
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("days and moments are compared")]


@pytest.fixture
def rehearsal(band: Band) -> Event:
    return make_rehearsal(band)


def block(event: Event, starts: str, ends: str, where: str = "") -> RehearsalBlock:
    times = (datetime.time.fromisoformat(text) for text in (starts, ends))
    first, last = times
    return RehearsalBlock(event=event, starts=first, ends=last, what="Sectionals", where=where)


@pytest.mark.parametrize(
    ("where", "starts", "ends", "fits"),
    [
        ("", "17:00", "17:30", False),
        ("Mill Lane practice field", "17:00", "17:30", False),
        ("  mill lane PRACTICE field ", "17:00", "17:30", False),
        ("Mill Lane shed", "17:00", "17:30", True),
        ("", "18:00", "18:30", True),
        ("", "16:00", "16:30", True),
        ("", "16:00", "19:00", False),
    ],
)
def test_two_blocks_run_at_once_only_in_two_places(
    rehearsal: Event, cast: Cast, where: str, starts: str, ends: str, fits: bool
) -> None:
    new = block(rehearsal, starts, ends, where)
    if fits:
        save_block(actor=cast.staff, block=new)
        assert rehearsal.blocks.count() == 2
    else:
        with pytest.raises(Refused, match="overlaps Halftime in full"):
            save_block(actor=cast.staff, block=new)
        assert rehearsal.blocks.count() == 1


def test_a_block_is_changed_without_meeting_itself(rehearsal: Event, cast: Cast) -> None:
    it = rehearsal.blocks.get()
    it.ends = datetime.time(18, 30)
    save_block(actor=cast.staff, block=it)
    remove_block(actor=cast.staff, block=it)
    assert not rehearsal.blocks.exists()


def test_a_block_ends_after_it_starts(rehearsal: Event, cast: Cast) -> None:
    with pytest.raises(ValidationError, match="Is it AM or PM"):
        save_block(actor=cast.staff, block=block(rehearsal, "19:00", "18:30"))


def test_performances_have_no_blocks(band: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match="not a rehearsal"):
        save_block(actor=cast.staff, block=block(band.event, "09:00", "09:30"))


def test_copying_a_rehearsal_copies_its_blocks(rehearsal: Event, band: Band, cast: Cast) -> None:
    week = datetime.timedelta(days=7)
    made = copy_event(actor=cast.staff, event=rehearsal, name="Next", date=DAY + week)
    assert [(b.what, b.starts, b.show) for b in made.blocks.all()] == [
        ("Halftime in full", datetime.time(16, 30), tidewheel(band))
    ]
    assert rehearsal.blocks.count() == 1


def test_the_schedule_falls_back_to_segments(rehearsal: Event) -> None:
    rehearsal.segments.create(order=1, name="Run", kind="halftime", starts="16:30", ends="17:00")
    assert [slot.what for slot in schedule(rehearsal)] == ["Halftime in full"]
    rehearsal.blocks.all().delete()
    assert [slot.what for slot in schedule(rehearsal)] == ["Run"]


@pytest.mark.parametrize(("days", "when"), [(0, "today"), (1, "tomorrow"), (3, "")])
def test_the_next_rehearsal_says_when(rehearsal: Event, band: Band, days: int, when: str) -> None:
    with clock(17, day=DAY - datetime.timedelta(days=days)):
        found = coming_rehearsal(band.season)
    assert found is not None and found.event == rehearsal
    assert (found.when, found.starts_at) == (when, rehearsal.called_at)


def test_after_the_last_rehearsal_there_is_none(rehearsal: Event, band: Band) -> None:
    with clock(day=DAY + datetime.timedelta(days=1)):
        assert coming_rehearsal(band.season) is None
