"""The book of turns: who performed how often."""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict

from django.db.models import QuerySet
from django.utils import timezone

from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.record import queries
from drill.record.core.turns import TurnCounts, counted
from drill.record.enums import TurnOutcome
from drill.record.models import Turn, TurnBook
from drill.record.services.turn_lines import Group
from drill.record.services.turn_sheet import homes
from roster.people import queries as people_queries
from roster.people.models import Member, Season

# Lists


def performances(season: Season) -> list[tuple[Event, Lineup, TurnBook | None]]:
    """Past and today's performances with a published lineup, the latest first."""
    newest = lineup_queries.latest_numbers(season).select_related("event")
    newest = newest.filter(event__date__lte=timezone.localdate())
    newest = newest.exclude(event__kind=EventKind.REHEARSAL)
    books = {
        b.event_id: b
        for b in TurnBook.objects.filter(event__season=season).select_related("confirmed_by")
    }
    rows = sorted(newest, key=lambda x: (x.event.date, x.event_id), reverse=True)
    return [(x.event, x, books.get(x.event_id)) for x in rows]


def shares(season: Season) -> list[tuple[Member, TurnCounts]]:
    """Every active member with the counts up to today, by name."""
    tomorrow = timezone.localdate() + datetime.timedelta(days=1)
    counts = queries.turn_counts(season, tomorrow)
    return [(m, counts.get(m.pk, TurnCounts())) for m in people_queries.active_members(season)]


def with_names(turns: QuerySet[Turn]) -> QuerySet[Turn]:
    """Turns with all that their lines show."""
    return turns.select_related(
        "book__event__season",
        "segment",
        "member__person",
        "member__season",
        "spot__rank",
        "first_spot__rank",
        "corrected_by",
    )


def book_ranks(book: TurnBook) -> dict[int, int | None]:
    """Member id -> the rank they were of on the day, for everybody in the book."""
    inside = set(Turn.objects.filter(book=book).values_list("member_id", flat=True))
    event = book.event
    return homes(event, [m for m in people_queries.members(event.season) if m.pk in inside])


def book_lines(book: TurnBook, group: Group) -> list[tuple[Member, list[Turn]]]:
    """A group's members with their confirmed turns."""
    turns = with_names(Turn.objects.filter(book=book, member__in=group.members))
    found: dict[Member, list[Turn]] = defaultdict(list)
    for turn in turns.order_by("member__person__sort_key", "member_id", "segment__order"):
        found[turn.member].append(turn)
    return list(found.items())


def own_turns(member: Member) -> list[tuple[Event, list[Turn]]]:
    """A member's turns by event, the latest first."""
    turns = with_names(Turn.objects.filter(member=member))
    found: dict[Event, list[Turn]] = defaultdict(list)
    for turn in turns.order_by("-book__event__date", "-book_id", "segment__order"):
        found[turn.book.event].append(turn)
    return list(found.items())


def own_counts(member: Member) -> TurnCounts:
    """A member's counts from the book; what nobody confirmed yet is no news to them."""
    outcomes = Counter(Turn.objects.filter(member=member).values_list("outcome", flat=True))
    return counted(
        outcomes[TurnOutcome.MARCHED],
        outcomes[TurnOutcome.STOOD_BY],
        outcomes[TurnOutcome.OFFERED],
    )
