"""The marching record: who performed how often."""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict

from django.db.models import QuerySet

from bandops.lib.audit.unchanged import while_unchanged
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.record import queries
from drill.record.core.record import RecordCounts, counted
from drill.record.enums import RecordOutcome
from drill.record.models import MarchingRecord, RecordEntry
from drill.record.services.record_lines import Group
from drill.record.services.record_sheet import homes
from roster.people import queries as people_queries
from roster.people.models import Member, Season

# Lists


def performances(season: Season) -> list[tuple[Event, Lineup, MarchingRecord | None]]:
    """Past and today's performances with a published lineup, the latest first."""
    newest = lineup_queries.latest_numbers(season).select_related("event")
    newest = newest.exclude(event__kind=EventKind.REHEARSAL)
    records = {
        b.event_id: b
        for b in MarchingRecord.objects.filter(event__season=season).select_related("confirmed_by")
    }
    past = [lineup for lineup in newest if lineup.event.date <= lineup.event.today()]
    rows = sorted(past, key=lambda x: (x.event.date, x.event_id), reverse=True)
    return [(x.event, x, records.get(x.event_id)) for x in rows]


def shares(season: Season) -> list[tuple[Member, RecordCounts]]:
    """Every active member with the counts up to today, by name."""
    tomorrow = season.today() + datetime.timedelta(days=1)
    counts = queries.record_counts(season, tomorrow)
    return [(m, counts.get(m.pk, RecordCounts())) for m in people_queries.active_members(season)]


def shares_to_show(season: Season) -> list[tuple[Member, RecordCounts]]:
    """The same, kept while nothing is written, for pages that only show them."""
    return while_unchanged(("shares", season.pk, season.today()), lambda: shares(season))


def with_names(entries: QuerySet[RecordEntry]) -> QuerySet[RecordEntry]:
    """Entries with all that their lines show."""
    return entries.select_related(
        "record__event__season",
        "segment",
        "member__person",
        "member__season",
        "spot__rank",
        "first_spot__rank",
        "corrected_by",
    )


def record_ranks(record: MarchingRecord) -> dict[int, int | None]:
    """Member id -> the rank they were of on the day, for everybody in the record."""
    inside = set(RecordEntry.objects.filter(record=record).values_list("member_id", flat=True))
    event = record.event
    return homes(event, [m for m in people_queries.members(event.season) if m.pk in inside])


def record_lines(record: MarchingRecord, group: Group) -> list[tuple[Member, list[RecordEntry]]]:
    """A group's members with their confirmed entries."""
    entries = with_names(RecordEntry.objects.filter(record=record, member__in=group.members))
    found: dict[Member, list[RecordEntry]] = defaultdict(list)
    for entry in entries.order_by("member__person__sort_key", "member_id", "segment__order"):
        found[entry.member].append(entry)
    return list(found.items())


def own_entries(member: Member) -> list[tuple[Event, list[RecordEntry]]]:
    """A member's entries by event, the latest first."""
    entries = with_names(RecordEntry.objects.filter(member=member))
    found: dict[Event, list[RecordEntry]] = defaultdict(list)
    for entry in entries.order_by("-record__event__date", "-record_id", "segment__order"):
        found[entry.record.event].append(entry)
    return list(found.items())


def own_counts(member: Member) -> RecordCounts:
    """A member's counts from the record; what nobody confirmed yet is no news to them."""
    outcomes = Counter(RecordEntry.objects.filter(member=member).values_list("outcome", flat=True))
    return counted(
        outcomes[RecordOutcome.MARCHED],
        outcomes[RecordOutcome.STOOD_BY],
        outcomes[RecordOutcome.OFFERED],
    )
