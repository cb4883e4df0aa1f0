"""Words of the import of events: kinds of events and segments, and fields."""

from __future__ import annotations

from bandops.lib.imports.words import Choice, Vocabulary, WordKind, register_words
from drill.events.enums import EventKind, SegmentKind
from drill.field import queries as field_queries
from roster.people.models import Season

KINDS = Vocabulary(
    "kind of event", "kind of event", {kind.value: kind.label for kind in EventKind}
).register()
SEGMENT_KINDS = Vocabulary(
    "kind of segment",
    "kind of segment",
    {kind.value: kind.label for kind in SegmentKind},
    {"pre game": "pregame", "half time": "halftime"},
    {
        "half": "halftime", "ht": "halftime", "show": "halftime", "field show": "halftime",
        "pre": "pregame", "march": "parade", "parade route": "parade", "stand tunes": "stands",
        "in the stands": "stands", "bleachers": "stands", "concessions": "duty",
    },
).register()  # fmt: skip
FIELD = "field"


def field_choices(season: Season) -> list[Choice]:
    """The published fields, then the band's own."""
    return [Choice(name, name) for name in field_queries.field_types(season)]


register_words(WordKind(FIELD, "field", field_choices))
