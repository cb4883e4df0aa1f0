"""The sets of a version by hand: added, changed, moved, removed."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.shows.models import DrillSet, ShowVersion
from drill.shows.services.versions import ASIDE, put_in_order, refuse_used


def add_set(*, actor: User, it: DrillSet, after: DrillSet | None) -> DrillSet:
    """Put a new set behind another of its version, or first."""
    with recorded(actor, "add set"):
        sets = _locked(it.version)
        it.order = ASIDE - 1
        it.full_clean()
        at = next((n for n, s in enumerate(sets, 1) if s == after), 0)
        labels = [s.label for s in sets]
        labels.insert(at, it.label)
        orders = {label: n for n, label in enumerate(labels, 1)}
        put_in_order(sets, orders)
        it.order = orders[it.label]
        it.save()
    return it


def change_set(*, actor: User, it: DrillSet) -> DrillSet:
    """Another label, counts, tempo, or a subset after all."""
    with recorded(actor, "change set"):
        _locked(it.version)
        it.full_clean()
        it.save(update_fields=["label", "counts", "tempo", "is_subset"])
    return it


def move_set(*, actor: User, it: DrillSet, by: int) -> None:
    """Move a set one place earlier (-1) or later (1); at the end it stays."""
    with recorded(actor, "move set"):
        sets = _locked(it.version)
        at = sets.index(it)
        to = min(max(at + by, 0), len(sets) - 1)
        sets.insert(to, sets.pop(at))
        put_in_order(sets, {s.label: n for n, s in enumerate(sets, 1)})


def remove_set(*, actor: User, it: DrillSet) -> None:
    """Remove a set with everything that stands in it; those behind it move up."""
    with recorded(actor, "remove set"):
        sets = [s for s in _locked(it.version) if s != it]
        it.delete()
        put_in_order(sets, {s.label: n for n, s in enumerate(sets, 1)})


def _locked(version: ShowVersion) -> list[DrillSet]:
    """The version's sets in order; nobody else changes them meanwhile. Refused for a version
    that a published lineup was made for."""
    if not ShowVersion.objects.select_for_update().filter(pk=version.pk).exists():
        raise Refused("This version is gone.")
    refuse_used(version)
    return list(version.sets.order_by("order"))
