"""What there is to find; each room brings its own, for each reader what their pages show."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from bandops.lib.finding.finding import Entry

Finder = Callable[[Any], Iterable[Entry]]

_finders: list[Finder] = []
_kinds: dict[str, int] = {}


def finds(**kinds: int) -> Callable[[Finder], Finder]:
    """Register a function from a viewer to what they may find; ``kinds`` are the headings it
    uses and the order in which they stand on the page."""

    def register(finder: Finder) -> Finder:
        _finders.append(finder)
        _kinds.update(kinds)
        return finder

    return register


def kinds() -> list[str]:
    """All headings in their order."""
    return sorted(_kinds, key=lambda kind: _kinds[kind])


def entries_for(viewer: Any) -> list[Entry]:
    """Everything the reader may find, each thing once (a fixed number of queries)."""
    once: dict[tuple[str, int], Entry] = {}
    for finder in _finders:
        for entry in finder(viewer):
            once.setdefault((entry.kind, entry.key), entry)
    return list(once.values())
