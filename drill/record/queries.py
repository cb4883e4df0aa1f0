"""How often each member marched for the chances they had."""

from __future__ import annotations

import datetime
from collections import defaultdict

from django.db.models import Count, Exists, OuterRef, Q

from drill.absences.core.availability import Entry
from drill.absences.enums import COUNTING
from drill.absences.models import Absence
from drill.absences.services.standings import entry_of, segment_slots
from drill.events.enums import EventKind
from drill.events.models import Segment
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup, LineupRow
from drill.record.core.record import RecordCounts, counted, from_lineups
from drill.record.enums import RecordOutcome
from drill.record.models import RecordEntry
from drill.rehearsals.services.presence import seen_in
from roster.people.models import Member, Season
from roster.people.queries import merged_members


def marched_percents(season: Season, before: datetime.date) -> dict[int, int]:
    """Member id -> percent of their chances before a day in which they marched."""
    return {pk: counts.percent for pk, counts in record_counts(season, before).items()}


def record_counts(season: Season, before: datetime.date) -> dict[int, RecordCounts]:
    """Member id -> counts of the season's performances before a day, by segment: from the marching
    record where it is confirmed, else from the newest published lineup, the attendance and the
    absences (clearance carries no past, so it is not asked there). A fixed number of queries."""
    present = Member.objects.filter(season=season, person__merged_into__isnull=True)
    members = present.values_list("pk", flat=True)
    found = _unconfirmed(season, before, list(members))
    confirmed = RecordEntry.objects.filter(
        record__event__season=season, record__event__date__lt=before
    )
    sums = confirmed.values("member_id").annotate(
        marched=Count("pk", filter=Q(outcome=RecordOutcome.MARCHED)),
        stood_by=Count("pk", filter=Q(outcome=RecordOutcome.STOOD_BY)),
        offered=Count("pk", filter=Q(outcome=RecordOutcome.OFFERED)),
    )
    for row in sums:
        mine = counted(row["marched"], row["stood_by"], row["offered"])
        found[row["member_id"]] = found.get(row["member_id"], RecordCounts()) + mine
    return found


def _unconfirmed(
    season: Season, before: datetime.date, members: list[int]
) -> dict[int, RecordCounts]:
    newer = Lineup.objects.filter(
        event=OuterRef("lineup__event"), number__gt=OuterRef("lineup__number")
    )
    newest = LineupRow.objects.filter(
        ~Exists(newer),
        lineup__state=LineupState.PUBLISHED,
        lineup__event__season=season,
        lineup__event__date__lt=before,
        lineup__event__marching_record__isnull=True,
    ).exclude(lineup__event__kind=EventKind.REHEARSAL)
    segments = list(
        Segment.objects.filter(pk__in=newest.values("segment"))
        .select_related("event")
        .prefetch_related("event__segments")
    )
    if not segments:
        return {pk: RecordCounts() for pk in members}
    events = {segment.event for segment in segments}
    every = {slot.key: slot for it in events for slot in segment_slots(it, it.segments.all())}
    slots = {segment.pk: every[segment.pk] for segment in segments}
    meant = merged_members(season)
    rows = newest.filter(member__isnull=False).values_list("member_id", "segment_id")
    placed = [(meant.get(member or 0, member or 0), segment) for member, segment in rows]
    entries: dict[int, list[Entry]] = defaultdict(list)
    said = Absence.objects.filter(member__season=season, state__in=COUNTING)
    for absence in said:
        entries[absence.member_id].append(entry_of(absence))
    seen = seen_in(segments)
    return from_lineups(slots, placed, entries, members, season.doubtful_out_from, seen)
