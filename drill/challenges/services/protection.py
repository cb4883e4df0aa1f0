"""Which spots are closed to challenges in a round, without a word about why."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Q, QuerySet

from drill.absences.core import availability as states
from drill.absences.enums import COUNTING
from drill.absences.models import Absence
from drill.absences.services.standings import entry_of
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeRound, ProtectedSpot
from drill.events.models import Event
from roster.people.models import Member, Season
from roster.ranks.models import Spot


def protected(round_: ChallengeRound, spots: Iterable[Spot]) -> set[int]:
    """Ids of the spots nobody may ask for: staff said so, a win for them is not in effect yet, or
    their holder could not stand up on the day. Expects the rows of ``spots_with_holders``.

    Whoever may only know that a spot is closed gets this set and nothing else.
    """
    spots = list(spots)
    day = round_.held_on
    said = ProtectedSpot.objects.filter(spot__rank__season=round_.season_id).filter(
        Q(until__isnull=True) | Q(until__gte=day)
    )
    closed = set(said.values_list("spot_id", flat=True))
    pending = Challenge.objects.filter(
        round__season=round_.season_id, state=ChallengeState.WON, applied_at__isnull=True
    )
    closed |= set(pending.values_list("spot_id", flat=True))
    holders = {s.pk: h.member for s in spots for h in s.open_holdings}  # type: ignore[attr-defined]
    away = away_on(round_, holders.values())
    closed |= {pk for pk, member in holders.items() if member.pk in away}
    return closed & {s.pk for s in spots}


def in_force(season: Season) -> QuerySet[ProtectedSpot]:
    """What staff protect today or later; a protection that has ended says nothing."""
    rows = ProtectedSpot.objects.filter(spot__rank__season=season)
    return rows.filter(Q(until__isnull=True) | Q(until__gte=today_of(season)))


def today_of(season: Season) -> datetime.date:
    return season.today()


def away_on(round_: ChallengeRound, members: Iterable[Member]) -> set[int]:
    """Ids of the members who, as entered now, cannot stand up when the round is held: out,
    limited, not there at that hour, not cleared or not eligible. A report counts before staff
    have decided it, as it does for lineups."""
    day, hour = round_.held_on, round_.held_at.astimezone(round_.zone).time()
    events = list(Event.objects.filter(season=round_.season_id, date=day).values_list("pk"))
    slots = [states.Slot(0, pk, day, hour, hour) for (pk,) in events or [(0,)]]
    entries: dict[int, list[states.Entry]] = defaultdict(list)
    dated = Q(event__isnull=True, from_date__lte=day)
    of_day = Q(event__date=day, segment__isnull=True)
    for absence in Absence.objects.filter(
        dated | of_day, member__season=round_.season_id, state__in=COUNTING
    ):
        entries[absence.member_id].append(entry_of(absence))
    out_from = round_.season.doubtful_out_from
    return {
        m.pk
        for m in members
        if not m.may_march_on(day)
        or any(states.standing(s, entries[m.pk]).is_away(out_from) for s in slots)
    }
