"""What the entries of a member's calendar are made of."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Count, Q

from bandops.lib.audit.models import AuditEntry
from drill.challenges.models import ChallengeRound
from drill.events.models import Event, Segment
from drill.lineup import queries as lineup_queries
from drill.lineup.core.problem import Origin
from drill.lineup.models import Lineup, LineupRow
from drill.rehearsals.models import RehearsalBlock
from roster.people.viewer import Viewer
from roster.ranks.models import Holding

EVENT, SEGMENT, BLOCK, ROUND = (
    model._meta.db_table for model in (Event, Segment, RehearsalBlock, ChallengeRound)
)


@dataclass(frozen=True)
class Facts:
    """What is read once for all events. Rows and holes are by event id."""

    reader: Viewer
    lineups: Mapping[int, Lineup]
    rows: Mapping[int, list[LineupRow]]
    holes: Mapping[int, int]
    holdings: Mapping[tuple[int, int], list[Holding]]
    changed: Mapping[tuple[str, int], datetime.datetime]


def facts_of(reader: Viewer, events: list[Event], rounds: list[ChallengeRound]) -> Facts:
    """Everything that the entries of the reader's calendar tell, read at once."""
    newest = lineup_queries.latest_numbers(reader.this_season) if events else Lineup.objects.none()
    lineups = {lineup.event_id: lineup for lineup in newest}
    event_of = {lineup.pk: event_id for event_id, lineup in lineups.items()}
    led = [rank.pk for rank in reader.ranks_led]
    rows: dict[int, list[LineupRow]] = defaultdict(list)
    holes: dict[int, int] = {}
    if reader.member is not None:
        shown = LineupRow.objects.filter(
            Q(member=reader.member) | Q(spot__rank__in=led), lineup__in=event_of
        )
        related = shown.select_related("segment", "spot__rank", "spot__part", "member__person")
        for row in related:
            rows[event_of[row.lineup_id]].append(row)
    if reader.is_staff:
        empty = LineupRow.objects.filter(lineup__in=event_of, origin=Origin.HOLE)
        counted = empty.values("lineup_id").annotate(n=Count("pk")).order_by()
        holes = {event_of[row["lineup_id"]]: row["n"] for row in counted}
    return Facts(reader, lineups, rows, holes, _holdings(led), _changed(events, rounds))


def _holdings(led: list[int]) -> dict[tuple[int, int], list[Holding]]:
    found: dict[tuple[int, int], list[Holding]] = defaultdict(list)
    if led:
        for holding in Holding.objects.filter(spot__rank__in=led):
            found[holding.spot_id, holding.member_id].append(holding)
    return found


def _changed(
    events: list[Event], rounds: list[ChallengeRound]
) -> dict[tuple[str, int], datetime.datetime]:
    """(table, row) -> when it was last changed, by the audit; a part changes its event."""
    parts = {(SEGMENT, s.pk): e.pk for e in events for s in e.segments.all()}
    parts |= {(BLOCK, b.pk): e.pk for e in events for b in e.blocks.all()}
    ids = [e.pk for e in events]
    gone = Q(op=AuditEntry.Op.DELETE, before__event_id__in=ids)
    noted = AuditEntry.objects.filter(
        Q(table=EVENT, row_id__in=[str(pk) for pk in ids])
        | Q(table=ROUND, row_id__in=[str(r.pk) for r in rounds])
        | Q(table=SEGMENT) & (gone | Q(row_id__in=_keys(parts, SEGMENT)))
        | Q(table=BLOCK) & (gone | Q(row_id__in=_keys(parts, BLOCK)))
    )
    latest: dict[tuple[str, int], datetime.datetime] = {}
    columns = noted.order_by("at").values_list("table", "row_id", "before__event_id", "at")
    for table, row_id, former_event, at in columns:
        key = (table, int(row_id))
        if table in (SEGMENT, BLOCK):
            key = (EVENT, parts.get(key) or int(former_event))
        latest[key] = at
    return latest


def _keys(parts: Iterable[tuple[str, int]], table: str) -> list[str]:
    return [str(pk) for name, pk in parts if name == table]
