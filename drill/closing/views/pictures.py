"""Pictures of a show before and after it is closed up or cut."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Any

from django.http import HttpRequest

from drill.closing.core import closing as core
from drill.closing.services.closed import Changed
from drill.events.models import Event
from drill.field.services.writing import Writer, writer_of
from drill.shows.core.told_drill import Drill
from drill.shows.pictures.picture import Picture
from drill.shows.pictures.shown import DrawnDot
from drill.shows.wording import finding_lines


def pictures_of(
    request: HttpRequest, event: Event, changed: Changed, dot: str, chosen: tuple[str, ...]
) -> dict[str, Any]:
    """The chosen set with the hole, and closed up; who moves, and what the checks find."""
    before, after = changed.before, changed.after
    at = {head.label: n for n, head in enumerate(before.sets)}
    wanted = request.GET.get("set", "")
    label = wanted if wanted in at else chosen[0] if chosen else before.sets[0].label
    writer = writer_of(event.season, event.field_type)
    hole = before.dots.index(dot)
    open_drill = core.without(before, hole)
    moved = _moved(open_drill, after, at[label])
    gone = (_dot(before, at[label], hole),) if before.known[at[label], hole] else ()
    line = (*(_dot(open_drill, at[label], row) for row in moved), *gone)
    whole = _picture(writer, open_drill, at[label], f"Set {label}: left open")
    closed = _picture(writer, after, at[label], f"Set {label}: closed up", moved)
    return {
        "set": label,
        "sets": [head.label for head in before.sets],
        "open": replace(whole, holes=gone, around=line),
        "closed": replace(closed, closed=gone, around=line),
        "moved": len(moved),
        "everywhere": sum(len(_moved(open_drill, after, n)) for n in range(len(after.sets))),
        "faults": finding_lines(changed.version, after, changed.new),
    }


def _moved(before: Drill, after: Drill, at: int) -> list[int]:
    apart = (before.where[at] != after.where[at]).any(axis=1)
    return [row for row in range(len(after.dots)) if apart[row] and after.known[at, row]]


def _dot(drill: Drill, at: int, row: int) -> DrawnDot:
    x, y = drill.where[at, row].tolist()
    return DrawnDot(x, y, drill.dots[row])


def _picture(
    writer: Writer, drill: Drill, at: int, title: str, marked: Collection[int] = ()
) -> Picture:
    """Everybody in a set, those marked drawn larger."""
    rows = [row for row in range(len(drill.dots)) if drill.known[at, row]]
    return Picture(
        writer.kind,
        tuple(_dot(drill, at, row) for row in rows if row not in marked),
        moved=tuple(_dot(drill, at, row) for row in rows if row in marked),
        title=title,
        pale=True,
        from_field=writer.style.from_field,
    )


def jump_of(event: Event, changed: Changed, first: str) -> dict[str, Any]:
    """Both ends of the jump as pictures, and what the checks find in it."""
    at = next(n for n, head in enumerate(changed.before.sets) if head.label == first)
    drill = changed.after
    writer = writer_of(event.season, event.field_type)
    flagged = sorted({p for f in changed.new if f.at == at for p in f.dots})
    holes = tuple(_dot(drill, at, row) for row in flagged if drill.known[at, row])
    start, end = drill.sets[at - 1].label, drill.sets[at].label
    return {
        "jump": (start, end, drill.sets[at].counts),
        "from_picture": _picture(writer, drill, at - 1, f"Set {start}, the last one kept"),
        "to_picture": replace(
            _picture(writer, drill, at, f"Set {end}, the next one kept"), holes=holes
        ),
        "flagged": len(flagged),
        "faults": finding_lines(changed.version, drill, changed.new),
    }
