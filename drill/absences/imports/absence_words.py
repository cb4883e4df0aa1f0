"""Words of the import of absences: kinds, states and events. Reasons are asked about in the file
alone: a word that may be a diagnosis is not kept."""

from __future__ import annotations

from bandops.lib.imports.words import Choice, Vocabulary, WordKind, register_words
from drill.absences.enums import AbsenceKind, AbsenceState
from drill.events.models import Event
from roster.people.models import Season

KINDS = Vocabulary(
    "kind of absence", "kind of absence", {kind.value: kind.label for kind in AbsenceKind}
).register()
STATES = Vocabulary(
    "state of an absence",
    "state of an absence",
    {state.value: state.label for state in AbsenceState},
).register()
EVENT = "event"


def event_choices(season: Season) -> list[Choice]:
    """The season's events by name; one of several days stands once."""
    names = Event.objects.filter(season=season).order_by("date").values_list("name", flat=True)
    return [Choice(name, name) for name in dict.fromkeys(names)]


register_words(WordKind(EVENT, "event", event_choices))
