"""Labels that nobody knows, said before they become new dots."""

from __future__ import annotations

from collections.abc import Iterator

from bandops.lib.imports.plan import Fault
from bandops.lib.names import label_words
from drill.shows.imports.coordinate_reader import Draft, Point
from drill.shows.imports.dot_labels import DotLabels, near
from roster.ranks.lookup import did_you_mean

MOST_NAMED = 12
"""new labels that are named one by one; the others are counted"""


def new_dots(labels: DotLabels, draft: Draft) -> Iterator[Fault]:
    """What must be accepted first; nothing where neither band nor show has any label yet."""
    there = {**labels.spots, **labels.stored(draft.show)}
    first: dict[str, Point] = {}
    for point in draft.points:
        if label_words(point.dot) not in there:
            first.setdefault(point.dot, point)
    if not there:
        return
    for label, point in list(first.items())[:MOST_NAMED]:
        message = f"“{label}” is not a spot in the band or a dot in {draft.show}: it becomes a new "
        message += f"dot.{did_you_mean(near(label, there))}"
        yield point.record.fault("dot", message, grave=True)
    for label, point in list(first.items())[MOST_NAMED : MOST_NAMED + 1]:
        message = f"{len(first) - MOST_NAMED} more labels, from {label} on, become new dots too."
        yield point.record.fault("dot", message, grave=True)
