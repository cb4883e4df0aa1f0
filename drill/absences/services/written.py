"""A line as staff got it (“Larkspur out thru Thurs”): whom it names, and what it says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from bandops.lib.names import plain
from drill.absences.core.phrases.days import Clock
from drill.absences.core.phrases.reading import Reading, read
from drill.absences.enums import AbsenceKind
from drill.events import queries as event_queries
from drill.events.models import Event, Segment
from roster.people.lookup import MemberIndex
from roster.people.models import Member, Season

MOST_NAME_WORDS = 5
BESIDE = " \t:;,-–—"


def clock_of(season: Season) -> Clock:
    """Today by the season's clock."""
    return Clock(season.today(), season.starts, season.ends)


def segment_names(season: Season) -> list[str]:
    """What parts of events are called here."""
    names = Segment.objects.filter(event__season=season).values_list("name", flat=True)
    return list(names.order_by().distinct())


def segments_meant(words: Sequence[str], event: Event) -> list[Segment] | None:
    """The event's segments that some words name, by name or else by kind; None where one of the
    words names none of them."""
    found: dict[int, Segment] = {}
    for word in words:
        named = [s for s in event.segments.all() if plain(s.name) == plain(word)]
        named = named or [s for s in event.segments.all() if s.kind == word]
        if not named:
            return None
        found |= {segment.order: segment for segment in named}
    return [found[order] for order in sorted(found)]


def event_meant(reading: Reading, events: Iterable[Event]) -> Event | None:
    """The one event of the single day that is named beside a segment."""
    if not reading.segments or not reading.dated or reading.from_date != reading.until_date:
        return None
    that_day = [e for e in events if e.date == reading.from_date]
    having = [e for e in that_day if segments_meant(reading.segments, e)]
    return having[0] if len(having) == 1 else None


def read_line(season: Season, text: str) -> tuple[Member | None, Reading]:
    """The member that a line begins with, if just one is meant, and the proposal of the rest."""
    index, names = MemberIndex(season), segment_names(season)
    words = text.split()
    for count in range(min(len(words), MOST_NAME_WORDS), 0, -1):
        member = _called(index, " ".join(words[:count]).strip(BESIDE))
        if member is not None:
            rest = " ".join(words[_end_of_name(index, words, count, member) :]).lstrip(BESIDE)
            return member, read(rest, clock_of(season), names)
    return None, read(text, clock_of(season), names)


def _end_of_name(index: MemberIndex, words: list[str], count: int, member: Member) -> int:
    """How many of the words are the name. After a comma all that follows reads as given names:
    “Larkspur, Bo maybe Sat” is Bo Larkspur, and maybe on Saturday."""
    while count > 2:
        try:
            if index.find(" ".join(words[: count - 1]).strip(BESIDE)) != member:
                break
        except ValueError:
            break
        count -= 1
    return count


def _called(index: MemberIndex, text: str) -> Member | None:
    """By number, address or name; else by a first or last name that only one has."""
    name = plain(text)
    if not name:
        return None
    try:
        return index.find(text)
    except ValueError:
        found = [m for m in index.members if name in _names(m)]
    return found[0] if len(found) == 1 else None


def _names(member: Member) -> set[str]:
    words = plain(member.name).split()
    return {words[0], words[-1]} if words else set()


def place_in_form(season: Season, reading: Reading) -> tuple[dict[str, Any], str]:
    """The event and the segment that a line names, as the form begins with them; and what is not
    certain about it. Without a day it is the next event that has such a segment."""
    if not reading.segments:
        return {}, ""
    coming = event_queries.not_over(event_queries.events(season))
    event = event_meant(reading, coming)
    if event is None and not reading.dated:
        event = next((e for e in coming if segments_meant(reading.segments, e)), None)
    found = segments_meant(reading.segments, event) if event else None
    if not event or not found:
        return {}, "Which event and segment? Choose them."
    dates = {"from_date": None, "until_date": None}
    if len(found) > 1:
        return {"event": event, **dates}, "It names several segments: enter each one separately."
    doubt = "" if reading.dated else f"Did you mean {event}?"
    return {"event": event, "segment": found[0], **dates}, doubt


def initial_of(reading: Reading) -> dict[str, Any]:
    """The proposal as the staff's form begins with it."""
    return {
        "kind": AbsenceKind(reading.said.value),
        "from_date": reading.from_date,
        "until_date": reading.until_date,
        "late_until": reading.late_until,
        "leaves_at": reading.leaves_at,
        "chance": reading.chance if reading.said.value == AbsenceKind.DOUBTFUL else None,
        "category": reading.reason.value if reading.reason else "",
    }
