"""Audit entries for people to read."""

from __future__ import annotations

import datetime
import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.apps import apps
from django.db import models
from django.db.models import Count, F, Window
from django.db.models.functions import RowNumber
from django.utils import timezone
from django.utils.dateparse import parse_date, parse_datetime, parse_time

from bandops.lib.audit.models import AuditEntry, TakenBack
from bandops.lib.dates import Clock, day_words, in_reach, second_words, value_words

SHOWN = 3
"""rows of an action that are read"""
QUIET = {"search", "sort_key", "id"}
STORED = re.compile(r"\d{4}-\d{2}-\d{2}([ T]\d{2}:\d{2}(:\d{2}(\.\d+)?)?(Z|[+-]\d{2}(:?\d{2})?)?)?")

STORED_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d:[0-5]\d(\.\d+)?")


@dataclass(frozen=True)
class Readable:
    """An entry with its row's name and the columns that differ."""

    entry: AuditEntry
    what: str
    changes: tuple[tuple[str, Any, Any], ...]


def readable(entries: Iterable[AuditEntry]) -> list[Readable]:
    """What changed, column by column; private values show only that they changed."""
    shown = list(entries)
    names = _names(shown)
    return [Readable(e, names.get((e.table, e.row_id)) or _gone(e), _changes(e)) for e in shown]


def _gone(entry: AuditEntry) -> str:
    """The name of a row that is no more, by what it was called; else by its number."""
    row = entry.before or entry.after or {}
    called = next((row[key] for key in ("name", "label", "code") if row.get(key)), entry.row_id)
    return f"{table_name(entry.table)} {called}"


@dataclass(frozen=True)
class Action:
    """One action: what one person changed in one transaction. ``lines`` are its newest rows,
    ``count`` is how many there are; ``remark`` is what a room says of it."""

    batch: str
    name: str
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
    counts: dict[str, dict[str, int]] = defaultdict(dict)
    sums = entries.order_by().values("batch", "table").annotate(many=Count("pk"))
    for row in sums:
        counts[row["batch"]][row["table"]] = row["many"]
    newest = Window(RowNumber(), partition_by="batch", order_by=F("id").desc())
    groups: dict[str, list[Readable]] = defaultdict(list)
    for line in readable(entries.annotate(place=newest).filter(place__lte=SHOWN).order_by("-id")):
        groups[line.entry.batch].append(line)
    return [
        Action(
            batch,
            lines[0].entry.action,
            lines[0].entry.actor_label,
            lines[0].entry.at,
            tuple(lines),
            sum(counts[batch].values()),
            frozenset(counts[batch]),
            undone.get(batch),
        )
        for batch, lines in groups.items()
    ]


def _changes(entry: AuditEntry) -> tuple[tuple[str, Any, Any], ...]:
    before, after, private = entry.before or {}, entry.after or {}, columns_marked("audit_private")

    def value(name: str, row: dict[str, Any]) -> Any:
        return "…" if name in private and row.get(name) else _in_words(row.get(name), row)

    return tuple(
        (n.removesuffix("_id").replace("_", " "), value(n, before), value(n, after))
        for n in (after or before)
        if n not in QUIET and before.get(n) != after.get(n)
    )


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


def _names(entries: list[AuditEntry]) -> dict[tuple[str, str], str]:
    """(table, row id) -> 'member Ana Núñez', for rows that are still there: a query a table."""
    wanted: dict[str, set[str]] = defaultdict(set)
    for entry in entries:
        if entry.row_id.isdigit():
            wanted[entry.table].add(entry.row_id)
    found = {}
    for table, ids in wanted.items():
        model = _model(table)
        if model is None:
            continue
        direct = [f.name for f in model._meta.fields if isinstance(f, models.ForeignKey)]
        rows = model._base_manager.filter(pk__in=ids).select_related(*direct, *_deeper(model))
        for row in rows:
            found[table, str(row.pk)] = f"{table_name(table)} {row}"
    return found


def _deeper(model: type[models.Model]) -> list[str]:
    """Relations that the names of related rows need: a member's person, a spot's rank."""
    return [
        f"{field.name}__{read}"
        for field in model._meta.fields
        if isinstance(field, models.ForeignKey)
        for read in getattr(field.related_model, "audit_reads", ())
    ]


@cache
def columns_marked(mark: str) -> frozenset[str]:
    """The columns that models name under ``audit_private`` (read with their values left out) or
    ``audit_noted`` (read with their values, each reading noted)."""
    return frozenset(name for model in apps.get_models() for name in getattr(model, mark, ()))


@cache
def table_name(table: str) -> str:
    """The table's name in words."""
    model = _model(table)
    return str(model._meta.verbose_name) if model else table


@cache
def _model(table: str) -> type[models.Model] | None:
    for model in apps.get_models(include_auto_created=True):
        if model._meta.db_table == table:
            return model
    return None
