"""Which spots each member has to work on before an event, and why."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import StrEnum

from drill.backups.models import Lesson
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.lineup.wording import ORDINALS
from drill.shows.models import Show
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank, Spot


class Why(StrEnum):
    """Why somebody works on a spot they do not hold."""

    LESSON = "learns it this week"
    BACKUP = "backup"
    STANDS_IN = "stands in"


@dataclass(frozen=True)
class Work:
    """A spot that a member works on; ``shows`` are those it is marched in."""

    spot: Spot
    why: Why
    words: str
    shows: tuple[Show, ...]


def lineup_for(performance: Event | None, *, with_draft: bool) -> Lineup | None:
    """The newest published lineup of a performance; before there is one, staff's draft."""
    if performance is None:
        return None
    lineup = lineup_queries.published(performance)
    if lineup is None and with_draft:
        lineup = lineup_queries.draft(performance)
    if lineup is not None:
        lineup.event = performance
    return lineup


def shows_of(event: Event) -> tuple[Show, ...]:
    """The shows an event marches, in order."""
    marched = [s.show for s in event.segments.all() if s.marches and s.show]
    return tuple(dict.fromkeys(marched))


def work_before(performance: Event, lineup: Lineup | None) -> dict[int, list[Work]]:
    """Member id -> what they work on: lessons first, then backups, then where they stand in."""
    shows = shows_of(performance)
    found: dict[int, list[Work]] = defaultdict(list)
    lessons = Lesson.objects.filter(plan__event=performance).select_related("spot__rank")
    for lesson in lessons.order_by("spot__rank__order", "spot__rank__label", "spot__number"):
        work = Work(lesson.spot, Why.LESSON, Why.LESSON.value, shows)
        found[lesson.member_id].append(work)
    backups = lineup_queries.backups(performance.season).order_by(
        "order", "spot__rank__order", "spot__rank__label", "spot__number"
    )
    for backup in backups:
        words = f"{ORDINALS.get(backup.order, f'{backup.order}th')} backup"
        found[backup.member_id].append(Work(backup.spot, Why.BACKUP, words, shows))
    for member_id, works in _stand_ins(performance, lineup).items():
        found[member_id] += works
    return found


def _stand_ins(performance: Event, lineup: Lineup | None) -> dict[int, list[Work]]:
    if lineup is None:
        return {}
    holders = rank_queries.holders_on(performance.season, performance.date)
    seats: dict[tuple[int, int], list[tuple[str, Show | None]]] = defaultdict(list)
    spots: dict[int, Spot] = {}
    rows = lineup_queries.rows(lineup).filter(member__isnull=False).select_related("segment__show")
    for row in rows:
        if row.member_id is not None and holders.get(row.spot_id) != row.member_id:
            seats[row.member_id, row.spot_id].append((row.segment.name, row.segment.show))
            spots[row.spot_id] = row.spot
    found: dict[int, list[Work]] = defaultdict(list)
    for (member_id, spot_id), where in seats.items():
        words = f"stands in, {', '.join(name for name, _ in where)}"
        shows = tuple(dict.fromkeys(show for _, show in where if show))
        found[member_id].append(Work(spots[spot_id], Why.STANDS_IN, words, shows))
    return found


def guests_of(
    rank: Rank, work: dict[int, list[Work]], known: set[int], rehearsal: Event
) -> list[tuple[Member, str]]:
    """Who else stands in at a spot of the rank."""
    ids = {
        member_id
        for member_id, works in work.items()
        if any(w.why is Why.STANDS_IN and w.spot.rank_id == rank.pk for w in works)
    }
    guests = people_queries.active_members(rehearsal.season).filter(pk__in=ids - known)
    return [(member, "stands in") for member in guests]
