"""Which entries of the audit are shown: those of actions, of looks, of lately, about somebody."""

from __future__ import annotations

import datetime
from collections.abc import Iterable

from django.db.models import Max, Model, Q, QuerySet
from django.utils import timezone

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.naming import tables_pointing_to
from bandops.lib.audit.ties import ROWS_ABOUT, STAFF_OF

DAYS = 14
"""how long an action may be taken back, and what the history shows unasked"""
OF_LISTS = Q(row_id="list")
Entries = QuerySet[AuditEntry]


def written() -> Entries:
    """The entries of everything that was done in an action."""
    rows = AuditEntry.objects.exclude(batch="").exclude(op=AuditEntry.Op.VIEW)
    return rows.exclude(table="lib_user")


def looks() -> Entries:
    """The entries of looks at what is kept private, latest first."""
    return AuditEntry.objects.filter(op=AuditEntry.Op.VIEW).order_by("-id")


def by_staff(viewer: Viewer, rows: Entries) -> Entries:
    """Those that the season's staff wrote."""
    return rows.filter(actor_id__in=[pk for ids in STAFF_OF.ask(viewer) for pk in ids])


def lately(viewer: Viewer, rows: Entries) -> Entries:
    """Those that the season's staff wrote lately: they alone are taken back."""
    since = timezone.now() - datetime.timedelta(days=DAYS)
    return by_staff(viewer, rows).filter(at__gte=since)


def batches(rows: Entries) -> QuerySet[AuditEntry, str]:
    """The actions that entries belong to, latest first."""
    latest = rows.order_by().values("batch").annotate(latest=Max("id"))
    return latest.order_by("-latest").values_list("batch", flat=True)


def rows_about(viewer: Viewer, text: str) -> list[Model]:
    """The rows of whom a text names."""
    return [row for rows in ROWS_ABOUT.ask(viewer, text) for row in rows]


def of_rows(rows: Iterable[Model]) -> Q:
    """Entries of the rows themselves; of no rows there are none."""
    found = Q(pk__in=[])
    for table, ids in _by_table(rows).items():
        found |= Q(table=table, row_id__in=[str(pk) for pk in ids])
    return found


def pointing_to(rows: Iterable[Model]) -> Q:
    """Entries of rows that point, or pointed, to one of them."""
    found = Q(pk__in=[])
    for table, ids in _by_table(rows).items():
        for column, tables in tables_pointing_to(table).items():
            told = Q(**{f"after__{column}__in": ids}) | Q(**{f"before__{column}__in": ids})
            found |= Q(table__in=sorted(tables)) & told
    return found


def _by_table(rows: Iterable[Model]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for row in rows:
        found.setdefault(row._meta.db_table, []).append(row.pk)
    return found
