"""One event for a whole file of absences, such as the sign-out list of Saturday's game."""

from __future__ import annotations

from bandops.lib.dates import weekday_words
from bandops.lib.imports.kinds import ForAll
from bandops.lib.imports.plan import Mapped
from bandops.lib.imports.words import Choice
from drill.absences.core.phrases.reading import read
from drill.absences.imports.written import SOURCE
from drill.absences.services.written import clock_of, segment_names
from drill.events import queries as event_queries
from drill.events.models import Event
from roster.people.models import Season


def _values(season: Season) -> list[Choice]:
    """The next performance, which a list is most likely about, then the other events to come, then
    those that are over, the last one first."""
    coming = event_queries.not_over(event_queries.events(season))
    likely = event_queries.next_event(season)
    coming.sort(key=lambda event: event != likely)
    known = {event.pk for event in coming}
    over = [e for e in Event.objects.filter(season=season).order_by("-date") if e.pk not in known]
    return [Choice(str(e.pk), f"{weekday_words(e.date)}, {e.name}") for e in (*coming, *over)]


def _rows(mapped: Mapped, season: Season) -> list[int]:
    """The rows that name neither an event nor a day, in their columns or in their free text."""
    clock, names = clock_of(season), segment_names(season)
    return [
        record.number
        for record in mapped.records()
        if not (record["event"] or record["from"] or record["until"])
        and not (record[SOURCE] and read(record[SOURCE], clock, names).dated)
    ]


def _cells(season: Season, value: str) -> dict[str, str]:
    """The event's name and day; nothing for one that is gone."""
    event = Event.objects.filter(season=season, pk=value).first() if value.isdecimal() else None
    return {"event": event.name, "from": event.date.isoformat()} if event else {}


FOR_ALL = ForAll(
    "Event",
    "For rows that name no day or event. Rows with a day of their own keep it; free text without "
    "a day means today as long as no event is chosen.",
    _values,
    _rows,
    _cells,
)
