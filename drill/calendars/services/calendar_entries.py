"""What a calendar feed says to its reader: dates for all, more for leaders and staff.

An address can be passed on without our knowing: nothing private is ever in a feed, and no name
but those of a leader's own ranks.
"""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterator, Mapping
from urllib.parse import urlsplit

from django.conf import settings

from bandops.lib.calendars import Entry, calendar_text
from bandops.lib.dates import clock_words, in_zone, span_words, stamp_words, zone_words
from drill.calendars.services.calendar_facts import EVENT, ROUND, Facts, facts_of
from drill.challenges.models import ChallengeRound
from drill.events.enums import EventKind
from drill.events.models import Event, Segment
from drill.lineup.core.problem import Origin
from drill.lineup.models import LineupRow
from drill.lineup.rules import reads_lineups
from drill.rehearsals.models import RehearsalBlock
from roster.people.enums import Role
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank


def calendar_of(reader: Viewer) -> bytes:
    """The reader's calendar (a fixed number of queries)."""
    events: list[Event] = []
    if reads_lineups(reader):
        found = Event.objects.filter(season=reader.this_season)
        events = list(found.prefetch_related("segments", "blocks"))
    rounds = _rounds(reader)
    facts = facts_of(reader, events, rounds)
    entries = [entry for event in events for entry in _of_event(event, facts)]
    entries += [entry for held in rounds for entry in _of_round(held, facts)]
    return calendar_text(reader.this_season.band_name, entries)


def _rounds(reader: Viewer) -> list[ChallengeRound]:
    """Challenges are set by staff and judged by evaluators."""
    if not (reader.is_staff or Role.EVALUATOR in reader.roles):
        return []
    rounds = ChallengeRound.objects.filter(season=reader.this_season)
    return list(rounds.select_related("effective"))


def _last_change(facts: Facts, table: str, pk: int) -> datetime.datetime:
    """Of a row, or the season's first moment where nothing was noted."""
    start = datetime.datetime.combine(facts.reader.this_season.starts, datetime.time())
    return facts.changed.get((table, pk), start.replace(tzinfo=datetime.UTC))


def _uid(noun: str, pk: int) -> str:
    return f"{noun}-{pk}@{urlsplit(settings.SITE_URL).hostname}"


def _of_event(event: Event, facts: Facts) -> Iterator[Entry]:
    lineup = facts.lineups.get(event.pk)
    changed = _last_change(facts, EVENT, event.pk)
    if lineup is not None and lineup.published_at is not None:
        changed = max(changed, lineup.published_at)
    revision = (lineup.number or 0) if lineup else 0
    parts: list[Segment | RehearsalBlock] = [*event.segments.all(), *event.blocks.all()]
    spans = [event.span(part) for part in parts]
    first = min((starts for starts, _ in spans), key=datetime.datetime.timestamp, default=None)
    yield Entry(
        _uid("event", event.pk),
        event.name,
        event.called_at or first or event.date,
        changed,
        event.over_from(parts) if parts else None,
        revision,
        event.venue,
        "\n".join(_lines(event, facts)),
    )
    if facts.reader.is_staff and event.cut_off is not None:
        yield Entry(
            _uid("cut-off", event.pk),
            f"Cut-off: {event.name}",
            in_zone(event.cut_off, event.zone),
            changed,
            revision=revision,
            text="From now on only the director can change the lineup.",
        )


def _of_round(held: ChallengeRound, facts: Facts) -> Iterator[Entry]:
    zone = held.effective.zone
    changed = _last_change(facts, ROUND, held.pk)
    text = ""
    if facts.reader.is_staff:
        text = f"A win counts from {held.effective}."
        yield Entry(
            _uid("challenge-closes", held.pk),
            f"{held.name}: sign-up closes",
            in_zone(held.closes_at, zone),
            changed,
        )
    yield Entry(
        _uid("challenge", held.pk),
        f"{held.name}: challenges",
        in_zone(held.held_at, zone),
        changed,
        text=text,
    )


def _lines(event: Event, facts: Facts) -> Iterator[str]:
    """What the entry says below its name."""
    reader, lineup = facts.reader, facts.lineups.get(event.pk)
    if event.called_at:
        yield f"Call {clock_words(event.called_at.time())} {zone_words(event.called_at)}"
    for segment in event.segments.all():
        own = _own_place(segment, facts) if lineup is not None and reader.is_member else ""
        yield f"{segment.name} {_span(segment, event)}{own}"
    if event.uniform:
        yield f"Uniform: {event.uniform}"
    if reader.is_staff or reader.is_rank_leader:
        for block in event.blocks.all():
            where = f", {block.where}" if block.where else ""
            yield f"{_span(block, event)}: {block.what}{where}"
    if lineup is not None:
        for rank in rank_queries.ranks_led(reader):
            yield from _rank_lines(rank, event, facts)
        if reader.is_staff:
            yield f"Open spots, all segments: {facts.holes.get(event.pk, 0)}"
        moment = lineup.published_at
        when = f", published {stamp_words(moment.astimezone(event.zone))}" if moment else ""
        yield f"Lineup: revision {lineup.number}{when}"
    elif event.kind != EventKind.REHEARSAL:
        yield "The lineup is not published yet."


def _span(part: Segment | RehearsalBlock, event: Event) -> str:
    """With the zone, since nobody knows by which clock the reader's calendar goes."""
    starts, ends = event.span(part)
    is_final = isinstance(part, RehearsalBlock) or not part.times_proposed
    words = f"{span_words(starts.time(), ends.time())} {zone_words(ends)}"
    return words + ("" if is_final else ", not final")


def _own_place(segment: Segment, facts: Facts) -> str:
    """Where the reader marches; nothing about why not."""
    if not segment.marches:
        return ""
    me = facts.reader.member
    for row in facts.rows.get(segment.event_id, ()):
        if row.segment_id == segment.pk and row.member == me:
            stands_in = row.origin == Origin.STANDS_IN
            return f": you {'stand in at' if stands_in else 'march'} {row.spot} ({row.spot.part})"
    return ": you do not march"


def _rank_lines(rank: Rank, event: Event, facts: Facts) -> Iterator[str]:
    """Who stands in and what is open in a leader's own rank."""
    standing: dict[str, list[str]] = defaultdict(list)
    open_spots: dict[str, list[str]] = defaultdict(list)
    rows = [r for r in facts.rows.get(event.pk, ()) if r.spot.rank_id == rank.pk]
    for row in sorted(rows, key=lambda r: (r.spot.number, r.segment.order)):
        if row.member is None:
            open_spots[str(row.spot)].append(row.segment.name)
        elif not _holds(row, event.date, facts):
            standing[f"{row.member} at {row.spot}"].append(row.segment.name)
    if standing:
        verb = "stands in" if len(standing) == 1 else "stand in"
        yield f"{rank}: {len(standing)} {verb}: {_listed(standing)}"
    if open_spots:
        yield f"{rank}: open: {_listed(open_spots)}"


def _holds(row: LineupRow, day: datetime.date, facts: Facts) -> bool:
    holdings = facts.holdings.get((row.spot_id, row.member_id or 0), ())
    return any(h.starts <= day and (h.ends is None or h.ends > day) for h in holdings)


def _listed(found: Mapping[str, list[str]]) -> str:
    return "; ".join(f"{what} ({', '.join(segments)})" for what, segments in found.items())
