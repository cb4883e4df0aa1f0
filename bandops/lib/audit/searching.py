"""Which entries of the audit were asked for: about whom, by whom, of what kind, on which day."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Max, Model, Q, QuerySet
from django.utils import timezone

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.naming import tables_pointing_to
from bandops.lib.audit.ties import ROWS_ABOUT, STAFF_OF

DAYS = 14
"""how long an action may be taken back, and what the history shows unasked"""


def batches(viewer: Viewer, asked: Mapping[str, Any] | None = None) -> QuerySet[AuditEntry, str]:
    """The batches that were asked for, latest first; unasked those that the season's staff wrote
    lately, which alone are taken back."""
    rows = AuditEntry.objects.exclude(batch="").exclude(op=AuditEntry.Op.VIEW)
    rows = rows.exclude(table="lib_user")
    wanted = asked or {}
    if not wanted:
        since = timezone.now() - datetime.timedelta(days=DAYS)
        rows = rows.filter(at__gte=since)
    if not wanted.get("who"):
        rows = rows.filter(actor_id__in=[pk for ids in STAFF_OF.ask(viewer) for pk in ids])
    rows = narrowed(rows, viewer, wanted)
    if wanted.get("kind"):
        rows = rows.filter(table=wanted["kind"])
    latest = rows.order_by().values("batch").annotate(latest=Max("id"))
    return latest.order_by("-latest").values_list("batch", flat=True)


def looks(viewer: Viewer, asked: Mapping[str, Any]) -> QuerySet[AuditEntry]:
    """Who looked at what is kept private, latest first. Whoever looked at a list saw everybody in
    it, so lists stay when one member is asked for."""
    rows = AuditEntry.objects.filter(op=AuditEntry.Op.VIEW)
    about = asked.get("about")
    if about:
        rows = rows.filter(_of(_rows_about(viewer, about)) | Q(row_id="list"))
    rest = {name: value for name, value in asked.items() if name != "about"}
    return narrowed(rows, viewer, rest).order_by("-id")


def narrowed(
    rows: QuerySet[AuditEntry], viewer: Viewer, asked: Mapping[str, Any]
) -> QuerySet[AuditEntry]:
    """By who did it, by day and about whom."""
    if asked.get("who"):
        rows = rows.filter(actor_label__icontains=asked["who"].replace("\0", " "))
    if asked.get("day"):
        start = datetime.datetime.combine(asked["day"], datetime.time.min)
        first = timezone.make_aware(start)
        rows = rows.filter(at__gte=first, at__lt=first + datetime.timedelta(days=1))
    if asked.get("about"):
        about = _rows_about(viewer, asked["about"])
        rows = rows.filter(_of(about) | _pointing_to(about))
    return rows


def _rows_about(viewer: Viewer, text: str) -> list[Model]:
    return [row for rows in ROWS_ABOUT.ask(viewer, text.replace("\0", " ")) for row in rows]


def _by_table(rows: Iterable[Model]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for row in rows:
        found.setdefault(row._meta.db_table, []).append(row.pk)
    return found


def _of(rows: Iterable[Model]) -> Q:
    """Entries of the rows themselves; of no rows there are none."""
    found = Q(pk__in=[])
    for table, ids in _by_table(rows).items():
        found |= Q(table=table, row_id__in=[str(pk) for pk in ids])
    return found


def _pointing_to(rows: Iterable[Model]) -> Q:
    """Entries of rows that point, or pointed, to one of them."""
    found = Q(pk__in=[])
    for table, ids in _by_table(rows).items():
        for column, tables in tables_pointing_to(table).items():
            told = Q(**{f"after__{column}__in": ids}) | Q(**{f"before__{column}__in": ids})
            found |= Q(table__in=sorted(tables)) & told
    return found
