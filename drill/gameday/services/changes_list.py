"""The changes of a day as a list tells them: what was done, and what was taken back."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from bandops.lib.dates import in_zone
from drill.events.models import Event
from drill.gameday.models import DayChange
from drill.gameday.wording import change_words
from drill.lineup.models import Lineup
from drill.lineup.wording import Names

MOST = 20


@dataclass(frozen=True)
class Done:
    """One line: a change, or that it was taken back, with the revision that did it; or a revision
    of the day that came by another way, without a change."""

    change: DayChange | None
    at: datetime.datetime
    words: str
    revision: Lineup | None
    is_undone: bool = False


def changes_list(event: Event) -> list[Done]:
    """What was changed last, first."""
    rows = DayChange.objects.filter(event=event).select_related(
        "after__published_by", "member_out__person"
    )
    changes, names = list(rows[:MOST]), Names(event.season_id)
    undone = [change for change in changes if change.undone_at]
    lineups = event.lineups.filter(number__isnull=False).order_by("-number")
    lineups = lineups.select_related("published_by")
    published = list(lineups.defer("certificate", "change_notice", "dots"))
    found = [_done(change, names) for change in changes]
    found += [_undone(change, names, published) for change in undone]
    known = {one.revision.pk for one in found if one.revision}
    found += [_elsewhere(row) for row in published if row.pk not in known and _is_of_the_day(row)]
    return sorted(found, key=lambda one: one.at, reverse=True)[:MOST]


def _is_of_the_day(revision: Lineup) -> bool:
    """One that changed what was published before, on the day of its event."""
    at, event = revision.published_at, revision.event
    if revision.number == 1 or at is None:
        return False
    return in_zone(at, event.zone).date() == event.date


def _elsewhere(revision: Lineup) -> Done:
    assert revision.published_at is not None
    return Done(None, revision.published_at, "the lineup was changed", revision)


def _done(change: DayChange, names: Names) -> Done:
    words = change_words(change.member_out, change.seats, names)
    return Done(change, change.made_at, words, change.after, change.undone_at is not None)


def _undone(change: DayChange, names: Names, published: list[Lineup]) -> Done:
    at = change.undone_at
    assert at is not None
    by_then = (row for row in published if row.published_at and row.published_at <= at)
    words = f"taken back: {change_words(change.member_out, change.seats, names)}"
    return Done(change, at, words, next(by_then, None))
