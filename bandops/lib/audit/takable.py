"""Which actions may be taken back, and by whom."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any

from django.apps import apps

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit.models import AuditEntry, TakenBack
from bandops.lib.audit.recording import finished
from bandops.lib.audit.ties import KEPT_BATCHES, LOCKED_BATCHES


def undoable(viewer: Viewer) -> str:
    """The action that the viewer just did, where they may take it back; else nothing.

    One that did several things at once, or that sent or started something, is not offered: half
    of it would stay.
    """
    done = finished()
    if len(done) != 1 or done[0].left:
        return ""
    (last,) = done
    if last.actor_id != str(viewer.signed_in.pk):
        return ""
    tables = AuditEntry.objects.filter(batch=last.batch).values_list("table", flat=True)
    changed = frozenset(tables.order_by().distinct())
    if not changed or not may_take_back(viewer, changed):
        return ""
    return "" if kept([last.batch]) | locked(viewer, [last.batch]) else last.batch


def may_take_back(viewer: Viewer, tables: frozenset[str], taken: TakenBack | None = None) -> bool:
    """True for what staff entered or arranged, as long as nothing of it was sent; what only the
    director writes, only the director takes back, and the equipment manager what is of the store
    alone."""
    if not viewer.is_staff and not tables <= _tables_with("audit_keepers"):
        return False
    final, directors = _tables_with("audit_final"), _tables_with("audit_directors")
    stay = final if viewer.is_director else final | directors
    return taken is None and not tables & stay


@cache
def _tables_with(mark: str) -> frozenset[str]:
    """The tables whose models say so (see `AuditEntry`)."""
    return frozenset(m._meta.db_table for m in apps.get_models() if getattr(m, mark, False))


def kept(batches: Iterable[str]) -> set[str]:
    """Those that rooms keep, whoever asks."""
    return set().union(*KEPT_BATCHES.ask(batches))


def locked(viewer: Any, batches: Iterable[str]) -> set[str]:
    """Those that are not the viewer's to change any more."""
    return set().union(*LOCKED_BATCHES.ask(viewer, batches))
