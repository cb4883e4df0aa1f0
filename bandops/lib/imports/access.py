"""Who brings in and takes out what: staff all of it, others the kinds of their own room."""

from __future__ import annotations

from django.core.exceptions import PermissionDenied
from django.http import Http404

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.exports.kinds import Export, all_exports, export_of
from bandops.lib.imports.kinds import ImportKind, all_kinds, kind_of


def brings_in(viewer: Viewer) -> bool:
    """Whether there is a kind of import for the viewer."""
    return bool(kinds_for(viewer))


def kinds_for(viewer: Viewer) -> list[ImportKind]:
    """What the viewer may bring in, in the order in which a new band needs it."""
    return [kind for kind in all_kinds() if kind.allowed(viewer)]


def kind_for(viewer: Viewer, key: str) -> ImportKind:
    """The kind; Http404 for none, PermissionDenied for one of others."""
    try:
        kind = kind_of(key)
    except KeyError:
        raise Http404 from None
    if not kind.allowed(viewer):
        raise PermissionDenied
    return kind


def exports_for(viewer: Viewer) -> list[Export]:
    """The tables that the viewer may take out, in their order."""
    return [export for export in all_exports() if export.allowed(viewer)]


def export_for(viewer: Viewer, name: str) -> Export:
    """The table; Http404 for none, PermissionDenied for one of others."""
    export = export_of(name)
    if export is None:
        raise Http404
    if not export.allowed(viewer):
        raise PermissionDenied
    return export
