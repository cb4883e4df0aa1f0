"""What a copy of an event could not take along."""

from __future__ import annotations

from collections.abc import Iterator

from drill.events.models import Event
from drill.field.wording import field_label


def not_taken_along(event: Event, made: Event) -> Iterator[str]:
    """In sentences: shows and a field that another season does not have."""
    named = {s.name: s.show.name for s in event.segments.select_related("show") if s.show}
    bare = made.segments.filter(show=None, name__in=named)
    if without := [f"{name} ({named[name]})" for name in bare.values_list("name", flat=True)]:
        yield f"No show of that name this season, so choose one for {', '.join(without)}."
    if made.field_type != event.field_type:
        field = field_label(made.field_type)
        yield f"The field {event.field_type} is none of this season's: it is {field} now."
