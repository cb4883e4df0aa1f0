"""What the record adds to lineups, the share that fairness reads, and to the next season."""

from __future__ import annotations

from drill.lineup.ties import SHARES
from drill.record import queries
from drill.record.models import LetterRule
from roster.people.services.next_season import Carried, copies
from roster.people.ties import CARRY_OVER

SHARES.join(queries.marched_percents)


@CARRY_OVER.join
def copy_rule(carried: Carried) -> None:
    copies(LetterRule.objects.filter(season=carried.old), season=carried.new)
