"""What leaving adds to people: what follows when somebody may march less."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection

from bandops.lib.accounts.models import User
from drill.events import queries as event_queries
from drill.leaving.services.following import follow_members
from drill.lineup import queries as lineup_queries
from drill.lineup.models import LineupRow
from roster.people.models import Season
from roster.people.ties import MARCHES_NEXT, MAY_MARCH_LESS


@MAY_MARCH_LESS.join
def follow(actor: User, season: Season, member_ids: Collection[int]) -> list[str]:
    """Lineups, lists and challenges of events to come."""
    return follow_members(actor=actor, season=season, member_ids=member_ids)


@MARCHES_NEXT.join
def events_to_come(season: Season) -> dict[int, list[str]]:
    """Member id -> the events to come whose newest published lineup has them."""
    coming = lineup_queries.latest_numbers(season).filter(
        event__in=event_queries.coming_events(season)
    )
    rows = LineupRow.objects.filter(lineup__in=coming, member__isnull=False)
    found: dict[int, list[str]] = defaultdict(list)
    seen = rows.order_by("lineup__event__date", "lineup__event").values_list(
        "member_id", "lineup__event__name"
    )
    for member, event in seen.distinct():
        found[member].append(event)
    return found
