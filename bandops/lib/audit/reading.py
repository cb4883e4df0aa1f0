"""Audit entries for people to read."""

from __future__ import annotations

import datetime
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.db.models import Count, F, Window
from django.db.models.functions import RowNumber
from django.utils import timezone
from django.utils.dateparse import parse_date, parse_datetime, parse_time

from bandops.lib.audit.models import AuditEntry, TakenBack
from bandops.lib.audit.naming import (
    Names,
    column_name,
    columns_marked,
    model_of,
    names_of,
    table_name,
    tells,
)
from bandops.lib.audit.recording import LOOK
from bandops.lib.audit.sentences import sayer, sentence
from bandops.lib.dates import (
    Clock,
    day_words,
    hour_words,
    in_reach,
    second_words,
    value_words,
)

SHOWN = 3
"""rows of each table of an action that are read"""
QUIET = {"search", "sort_key", "id"}
STORED = re.compile(r"\d{4}-\d{2}-\d{2}([ T]\d{2}:\d{2}(:\d{2}(\.\d+)?)?(Z|[+-]\d{2}(:?\d{2})?)?)?")

STORED_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d:[0-5]\d(\.\d+)?")


@dataclass(frozen=True)
class Readable:
    """An entry with its row's name and the columns that differ."""

    entry: AuditEntry
    what: str
    changes: tuple[tuple[str, Any, Any], ...]
    columns: tuple[str, ...] = ()


def readable(entries: Iterable[AuditEntry]) -> list[Readable]:
    """What changed, column by column; private values show only that they changed."""
    shown = list(entries)
    return _readable(shown, names_of(shown), columns_marked("audit_private"))


def _readable(
    entries: Iterable[AuditEntry],
    names: Names,
    hidden: frozenset[tuple[str, str]],
    *,
    told: bool = False,
) -> list[Readable]:
    """``told``: only the columns that say something to people."""
    found = []
    for entry in entries:
        what = f"{table_name(entry.table)}: {names.row(entry) or entry.row_id}"
        columns = [c for c in _columns(entry) if not told or tells(entry.table, c)]
        changes = tuple(_changes(entry, columns, names, hidden))
        found.append(Readable(entry, what, changes, tuple(columns)))
    return found


def changes_in_words(entries: Iterable[AuditEntry]) -> list[str]:
    """Who changed what from what to what, a line each: "Dana Ferrow changed call time of event:
    Homecoming from 5:00 PM to 5:30 PM (10:03 AM)."."""
    shown = list(entries)
    hidden = columns_marked("audit_private") | columns_marked("audit_noted")
    lines: list[str] = []
    for row in _readable(shown, names_of(shown), hidden, told=True):
        who, when = row.entry.actor_label, hour_words(row.entry.at)
        if row.entry.op == AuditEntry.Op.UPDATE and row.changes:
            lines += (
                f"{who} changed {name} of {row.what} from {_or_nothing(before)} "
                f"to {_or_nothing(after)} ({when})."
                for name, before, after in row.changes
            )
        else:
            lines.append(f"{who} {row.entry.get_op_display()} {row.what} ({when}).")
    return list(dict.fromkeys(lines))


def _or_nothing(value: Any) -> str:
    return "nothing" if value in (None, "") else str(value)


@dataclass(frozen=True)
class Action:
    """One action: what one person changed in one transaction. ``said`` is what a person would
    say of it, ``lines`` are the newest rows of each table, ``count`` is how many there are;
    ``remark`` is what a room says of it."""

    batch: str
    name: str
    said: str
    by: str
    at: datetime.datetime
    lines: tuple[Readable, ...]
    count: int
    tables: frozenset[str]
    taken_back: TakenBack | None
    remark: str = ""

    @property
    def more(self) -> int:
        return self.count - len(self.lines)


def actions(batches: Iterable[str]) -> list[Action]:
    """The actions of some batches, latest first (a fixed number of queries and one a table): a
    single one may have written thousands of rows, so only the newest are read."""
    wanted = list(batches)
    entries = AuditEntry.objects.filter(batch__in=wanted).exclude(op=AuditEntry.Op.VIEW)
    undone = {t.batch: t for t in TakenBack.objects.filter(batch__in=wanted).select_related("by")}
    counts: dict[str, dict[tuple[str, str], int]] = defaultdict(dict)
    sums = entries.order_by().values("batch", "table", "op")
    for row in sums.annotate(many=Count("row_id", distinct=True)):
        counts[row["batch"]][row["table"], row["op"]] = row["many"]
    newest = Window(RowNumber(), partition_by=["batch", "table"], order_by=F("id").desc())
    shown = list(entries.annotate(place=newest).filter(place__lte=SHOWN).order_by("-id"))
    names = names_of(shown)
    groups: dict[str, list[AuditEntry]] = defaultdict(list)
    for entry in shown:
        groups[entry.batch].append(entry)
    hidden = columns_marked("audit_private") | columns_marked("audit_noted")
    say = sayer(names, _in_words)
    return [
        Action(
            batch,
            rows[0].action,
            sentence(rows[0].action, rows, counts[batch], say),
            rows[0].actor_label,
            rows[0].at,
            tuple(_readable(rows, names, hidden, told=True)),
            sum(counts[batch].values()),
            frozenset(table for table, _ in counts[batch]),
            undone.get(batch),
        )
        for batch, rows in groups.items()
    ]


@dataclass(frozen=True)
class Look:
    """Somebody looked at something kept private; ``of`` is whose it is, nothing for a list."""

    at: datetime.datetime
    by: str
    what: str
    of: str


def looks_in_words(entries: Iterable[AuditEntry]) -> list[Look]:
    """Who looked at what, and whose it was."""
    shown = list(entries)
    names = names_of(shown)
    return [
        Look(
            e.at,
            e.actor_label,
            e.action.removeprefix(LOOK),
            names.found.get((e.table, e.row_id), ""),
        )
        for e in shown
    ]


def _columns(entry: AuditEntry) -> tuple[str, ...]:
    """The columns that differ and tell something."""
    before, after = entry.before or {}, entry.after or {}
    return tuple(n for n in (after or before) if n not in QUIET and before.get(n) != after.get(n))


def _changes(
    entry: AuditEntry,
    columns: Iterable[str],
    names: Names,
    hidden: frozenset[tuple[str, str]],
) -> Iterator[tuple[str, Any, Any]]:
    model = model_of(entry.table)

    def value(column: str, row: dict[str, Any]) -> Any:
        if (entry.table, column) in hidden and row.get(column):
            return "…"
        return names.value(model, column, row) or _in_words(row.get(column), row)

    for column in columns:
        before, after = entry.before or {}, entry.after or {}
        yield column_name(entry.table, column), value(column, before), value(column, after)


def _in_words(value: Any, row: dict[str, Any]) -> Any:
    """A stored day, time or moment as pages write it; whatever else as it is. Times are those of
    the row's own zone, where it has one."""
    if not isinstance(value, str):
        return value
    if STORED_TIME.fullmatch(value) and (time := parse_time(value)) is not None:
        return value_words(time, _clock(row))
    if not STORED.fullmatch(value):
        return value
    if (day := parse_date(value)) is not None:
        return day_words(day)
    moment = parse_datetime(value)
    if moment is None or not in_reach(moment):
        return value
    # One database keeps the offset beside it, the other keeps UTC.
    known = moment if timezone.is_aware(moment) else moment.replace(tzinfo=datetime.UTC)
    return second_words(known)


def _clock(row: dict[str, Any]) -> Clock | None:
    """The day and zone of a row that tells its times by a clock of its own."""
    day, zone = parse_date(str(row.get("date") or "")), row.get("time_zone")
    if day is None or not zone:
        return None
    try:
        return day, ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError):
        return None
