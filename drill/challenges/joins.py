"""What challenges add to the next season: who may, and what is marked."""

from __future__ import annotations

from drill.challenges.models import ChallengeCriterion, ChallengeRule
from roster.people.services.next_season import Carried, copies
from roster.people.ties import CARRY_OVER


@CARRY_OVER.join
def copy_rules(carried: Carried) -> None:
    copies(ChallengeRule.objects.filter(season=carried.old), season=carried.new)
    copies(ChallengeCriterion.objects.filter(season=carried.old), season=carried.new)
