"""Saving a closed-up or cut show as a version of its own."""

from __future__ import annotations

from typing import Any

from django.db.models import Max

from drill.closing.services.closed import Changed
from drill.events.models import Event, EventVersion
from drill.shows.core.moves import PathKind
from drill.shows.models import Dot, DrillSet, Path, Position, ShowVersion

NAME_LENGTH = 60


def save_version(event: Event, changed: Changed, name: str, change: dict[str, Any]) -> ShowVersion:
    """The changed drill as the event's own version, made from the one it was seen from."""
    show = changed.version.show
    order = (show.versions.aggregate(top=Max("order"))["top"] or 0) + 1
    made = ShowVersion.objects.create(
        show=show,
        label=f"{order}: {name}"[:NAME_LENGTH],
        order=order,
        is_variant=True,
        change=change | {"base": changed.version.pk},
    )
    EventVersion.objects.create(event=event, version=made)
    _write_sets(made, changed)
    return made


def _write_sets(made: ShowVersion, changed: Changed) -> None:
    drill = changed.after
    old = {s.label: s for s in changed.version.sets.all()}
    sets = DrillSet.objects.bulk_create(
        DrillSet(
            version=made,
            order=order,
            label=head.label,
            counts=head.counts,
            tempo=head.tempo,
            is_subset=old[head.label].is_subset,
        )
        for order, head in enumerate(drill.sets, 1)
    )
    dots = {p.label: p for p in Dot.objects.filter(show=made.show_id)}
    Position.objects.bulk_create(
        Position(set=drill_set, dot=dots[dot], x=int(x), y=int(y))
        for at, drill_set in enumerate(sets)
        for row, dot in enumerate(drill.dots)
        if drill.known[at, row]
        for x, y in [drill.where[at, row]]
    )
    _write_paths(sets, dots, changed)


def _write_paths(sets: list[DrillSet], dots: dict[str, Dot], changed: Changed) -> None:
    """The words of those who go as before; who stands elsewhere now goes a way not described."""
    told = {
        (p.set.label, p.dot.label): p
        for p in Path.objects.filter(set__version=changed.version).select_related("set", "dot")
    }
    rows = []
    for (at, row), way in changed.after.ways.items():
        label, dot = sets[at].label, changed.after.dots[row]
        path = told.get((label, dot))
        if path is None:
            continue
        same = _same_way(changed, label, dot)
        keeps = same or way.kind is not PathKind.UNKNOWN
        rows.append(
            Path(
                set=sets[at],
                dot=dots[dot],
                words=path.words if keeps else "",
                curved=path.curved if keeps else True,
            )
        )
    Path.objects.bulk_create(rows)


def _same_way(changed: Changed, label: str, dot: str) -> bool:
    """Whether the dot starts and ends this way where it did before."""
    ends = []
    for drill in (changed.before, changed.after):
        at = [s.label for s in drill.sets].index(label)
        row = drill.dots.index(dot)
        ends.append(drill.where[max(at - 1, 0) : at + 1, row].tolist())
    return bool(ends[0] == ends[1])
