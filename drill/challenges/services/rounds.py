"""Rounds of challenges: when they are, what is marked, which spots are protected."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import day_words
from bandops.lib.errors import Refused
from drill.challenges.enums import ChallengeState
from drill.challenges.models import (
    Challenge,
    ChallengeCriterion,
    ChallengeMark,
    ChallengeRound,
    ProtectedSpot,
)
from drill.challenges.services.protection import in_force, today_of
from roster.people.models import Season
from roster.ranks.models import Spot

# What such challenges are usually marked on: common practice, no source.
STARTERS = (
    ("Marching: posture, step, spacing", 2),
    ("Drill: the spot's sets", 2),
    ("Music", 1),
)


@dataclass(frozen=True)
class Protection:
    """A spot's protection, and the words of the one in force that it replaced."""

    row: ProtectedSpot
    former: str


def save_round(*, actor: User, round_: ChallengeRound) -> ChallengeRound:
    """Add or change a round; the event from which wins count stays once a win is in effect."""
    round_.full_clean()
    with recorded(actor, "save challenge round"):
        if round_.effective.date < round_.held_on:
            raise Refused(f"{round_.effective} is before the day the challenges are held.")
        before = ChallengeRound.objects.select_for_update().filter(pk=round_.pk).first()
        if before is not None and before.effective_id != round_.effective_id:
            applied = Challenge.objects.filter(round=before, applied_at__isnull=False)
            if applied.exists():
                raise Refused(f"A win of {before} is already in effect from {before.effective}.")
        round_.save()
    return round_


def save_criterion(*, actor: User, criterion: ChallengeCriterion) -> ChallengeCriterion:
    """Add or change what is marked."""
    criterion.full_clean()
    with recorded(actor, "save challenge criterion"):
        _refuse_under_way(criterion.season)
        criterion.save()
    return criterion


def remove_criterion(*, actor: User, criterion: ChallengeCriterion) -> None:
    """Remove what was never marked."""
    with recorded(actor, "remove challenge criterion"):
        _refuse_under_way(criterion.season)
        if ChallengeMark.objects.filter(criterion=criterion).exists():
            raise Refused(f"“{criterion}” has marks, so it stays.")
        criterion.delete()


def add_starters(*, actor: User, season: Season) -> int:
    """A sensible set to begin with; how many were added."""
    with recorded(actor, "add challenge criteria"):
        Season.objects.select_for_update().get(pk=season.pk)
        if ChallengeCriterion.objects.filter(season=season).exists():
            raise Refused("There are already criteria.")
        ChallengeCriterion.objects.bulk_create(
            ChallengeCriterion(season=season, name=name, weight=weight, order=order)
            for order, (name, weight) in enumerate(STARTERS, 1)
        )
    return len(STARTERS)


def _refuse_under_way(season: Season) -> None:
    """Marks that wait for a decision are all given on the same criteria."""
    waiting = ChallengeMark.objects.filter(
        challenge__round__season=season, challenge__state=ChallengeState.ASKED
    )
    if waiting.exists():
        raise Refused("Some challenges have marks but no decision: decide those first.")


def protect_spot(*, actor: User, spot: Spot, until: datetime.date | None) -> Protection:
    """Nobody asks for the spot in rounds held through a day, or until it is lifted."""
    season = spot.rank.season
    if until is not None and until < today_of(season):
        raise ValidationError({"until": f"{day_words(until)} has passed."})
    with recorded(actor, "protect spot"):
        Spot.objects.select_for_update().get(pk=spot.pk)
        row = ProtectedSpot.objects.filter(spot=spot).first() or ProtectedSpot(spot=spot)
        former = in_force(season).filter(spot=spot).first()
        row.until, row.protected_by = until, actor
        row.save()
    return Protection(row, former.words if former else "")


def lift_protection(*, actor: User, row: ProtectedSpot) -> None:
    """The spot is open to challenges again."""
    with recorded(actor, "lift protection"):
        row.delete()
