"""The season's rule of who may challenge for which spot."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Q, QuerySet

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from drill.challenges.enums import Challengers, Reach
from drill.challenges.models import ChallengeRule
from roster.people.models import Member, Part, Season
from roster.people.queries import active_members
from roster.ranks.models import AlternatePlace, Holding, Rank, Spot
from roster.ranks.services.spots import open_holding


@dataclass(frozen=True)
class Belonging:
    """Where a challenger belongs: the spot they hold, or the place where they stand by."""

    rank: Rank
    part: Part
    held: Spot | None = None


def rule_of(season: Season) -> ChallengeRule:
    """The season's rule; alternates for any spot of a part they play where none was chosen."""
    return ChallengeRule.objects.filter(season=season).first() or ChallengeRule(season=season)


def challengers(season: Season) -> QuerySet[Member]:
    """The active members who may challenge by the season's rule."""
    alternates = Q(alternate_place__isnull=False)
    holders = Q(pk__in=Holding.objects.filter(ends__isnull=True).values("member"))
    everybody = rule_of(season).who == Challengers.ALL
    return active_members(season).filter(alternates | holders if everybody else alternates)


def save_rule(*, actor: User, rule: ChallengeRule) -> ChallengeRule:
    """Choose who may challenge whom; what was asked for before stays asked."""
    rule.full_clean()
    with recorded(actor, "choose who may challenge"):
        rule.save()
    return rule


def belonging_of(member: Member) -> Belonging | None:
    """Where the member belongs by today's roster; None without a spot or a place."""
    holding = open_holding(member=member)
    if holding is not None:
        return Belonging(holding.spot.rank, holding.spot.part, holding.spot)
    places = AlternatePlace.objects.filter(member=member).select_related("rank", "part")
    place = places.first()
    return Belonging(place.rank, place.part) if place is not None else None


def why_not_challenge(rule: ChallengeRule, member: Member, mine: Belonging | None) -> str:
    """Why the member challenges nobody this season; empty where they may."""
    if mine is None:
        return f"{member} is not an alternate and holds no spot, so they can't challenge."
    if mine.held is not None and rule.who == Challengers.ALTERNATES:
        return f"{member} holds a spot: challenges are for alternates only this season."
    return ""


def why_not_spot(rule: ChallengeRule, member: Member, mine: Belonging, spot: Spot) -> str:
    """Why the member may not challenge for this spot; empty where they may."""
    if mine.held is not None and mine.held.pk == spot.pk:
        return f"{member} already holds {spot}."
    if rule.reach == Reach.RANK and spot.rank_id != mine.rank.pk:
        return (
            f"Challenges stay within a rank this season: {member} is in {mine.rank}, {spot} is not."
        )
    if rule.reach == Reach.SECTION and spot.part.instrument_id != mine.part.instrument_id:
        return (
            f"Challenges stay within a section this season: {member} is in "
            f"{mine.part.instrument}, {spot} is {spot.part.instrument}."
        )
    return ""
