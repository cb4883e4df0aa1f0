"""Rehearsals: their blocks, and what notes made at one have in common."""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from typing import Any, TypeVar

from django.db import models
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import moment_words, span_words, weekday_name, weekday_words
from bandops.lib.errors import Refused
from bandops.lib.names import plain
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.rehearsals import queries
from drill.rehearsals.models import RehearsalBlock
from drill.shows.models import Show
from roster.people.models import Season

Row = TypeVar("Row", bound=models.Model)


@dataclass(frozen=True)
class Slot:
    """One line of a rehearsal's schedule."""

    starts: datetime.time
    ends: datetime.time
    what: str
    where: str
    show: Show | None
    starts_fold: bool = False
    ends_fold: bool = False


def schedule(event: Event) -> list[Slot]:
    """The rehearsal's blocks by time; its segments where it has none."""
    blocks = [Slot(b.starts, b.ends, b.what, b.where, b.show) for b in event.blocks.all()]
    slots = blocks or [
        Slot(s.starts, s.ends, s.name, "", s.show, s.starts_fold, s.ends_fold)
        for s in event.segments.all()
    ]
    return sorted(slots, key=lambda slot: [moment.timestamp() for moment in event.span(slot)])


@dataclass(frozen=True)
class Coming:
    """The next rehearsal as people look for it: is it today, tomorrow, later; what happens."""

    event: Event
    when: str
    slots: list[Slot]

    @property
    def starts_at(self) -> datetime.datetime | None:
        first = self.event.span(self.slots[0])[0] if self.slots else None
        return self.event.called_at or first

    @property
    def day_name(self) -> str:
        """'Today', 'Tuesday'."""
        return self.when.capitalize() or weekday_name(self.event.date)

    def is_before(self, other: Event) -> bool:
        """True where it begins before another event does."""
        if self.starts_at is None or other.called_at is None:
            return self.event.date <= other.date
        return self.starts_at < other.called_at


def coming_rehearsal(season: Season, *, noting: bool = False) -> Coming | None:
    """The rehearsal that goes on or comes next; None when there is none to come. For those who
    are ``noting`` who was there, one that has ended stays until its day is over."""
    event = queries.next_rehearsal(season, noting=noting)
    if event is None:
        return None
    when = {0: "today", 1: "tomorrow"}.get((event.date - event.today()).days, "")
    return Coming(event, when, schedule(event))


def save_block(*, actor: User, block: RehearsalBlock) -> RehearsalBlock:
    """Add or change a block; two may run at once, but not in one place."""
    block.full_clean()
    with recorded(actor, "save block"):
        event = Event.objects.select_for_update().get(pk=block.event_id)
        if event.kind != EventKind.REHEARSAL:
            raise Refused(f"{event} is not a rehearsal: it has segments, no blocks.")
        others = event.blocks.exclude(pk=block.pk)
        for other in others:
            if event.overlap(other, block) and _place(event, other) == _place(event, block):
                times = span_words(other.starts, other.ends)
                raise Refused(
                    f"{block.what} overlaps {other.what} ({times}) in the same place. "
                    "Pick another place or other times."
                )
        block.save()
    return block


def _place(event: Event, block: RehearsalBlock) -> str:
    """A block that names no place is where the rehearsal is."""
    return plain(block.where or event.venue)


def remove_block(*, actor: User, block: RehearsalBlock) -> None:
    """The block is no longer part of the rehearsal."""
    with recorded(actor, "remove block"):
        block.delete()


def opens_at(event: Event) -> datetime.datetime:
    """From when notes are taken: from a rehearsal's day on, from a performance's call on (its day
    where none is set)."""
    if event.kind == EventKind.REHEARSAL:
        return event.day_starts_at
    return event.called_at or event.day_starts_at


def opens_words(event: Event) -> str:
    """'Thu, Oct 15', 'at the call, Sat, Oct 17, 11:00 AM'."""
    if event.kind == EventKind.REHEARSAL or event.called_at is None:
        return weekday_words(event.date)
    return f"at the call, {moment_words(event.called_at, event.zone)}"


def is_open(event: Event, now: datetime.datetime | None = None) -> bool:
    """True once notes about an event are taken."""
    return (now or timezone.now()) >= opens_at(event)


def noted_moment(event: Event, told: datetime.datetime | None) -> datetime.datetime:
    """When a note was made: as its phone tells, unless that cannot be; then now."""
    now = timezone.now()
    if not is_open(event, now):
        raise Refused(f"{event}: attendance opens {opens_words(event)}.")
    possible = told is not None and opens_at(event) <= told <= now
    return told if told is not None and possible else now


def keep_once(
    model: type[Row], *, key: uuid.UUID, told: dict[str, Any], noted_at: datetime.datetime
) -> Row:
    """The row of a note, made unless a note with this key and content is there already.

    A page that is still open sends its key again with other content: that is another note.
    """
    rows = model._default_manager
    values = {**told, "noted_at": noted_at}
    row, made = rows.get_or_create(key=key, defaults=values)
    if made or all(getattr(row, name) == value for name, value in told.items()):
        return row
    content = " ".join(str(getattr(value, "pk", value)) for value in told.values())
    row, _ = rows.get_or_create(key=uuid.uuid5(key, content), defaults=values)
    return row
