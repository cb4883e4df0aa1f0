"""What ranks add to the pages and rules of people."""

from __future__ import annotations

from typing import Any

from django.db.models import Model, Prefetch, Q, QuerySet

from bandops.lib.names import label_words
from roster.people.models import Member, Season
from roster.people.ties import (
    HOLDERS_OF,
    MEMBER_PAGE,
    NEEDS,
    RANKS_LED,
    READ_WITH,
    SET_UP_PAGE,
    Need,
)
from roster.ranks import queries
from roster.ranks.models import AlternatePlace, Holding, Rank


@READ_WITH.join
def with_places(members: QuerySet[Member]) -> QuerySet[Member]:
    """Each member's spot as ``open_holdings`` and their alternate's place."""
    held = Holding.objects.filter(ends__isnull=True).select_related("spot__rank")
    return members.select_related(
        "alternate_place__rank", "alternate_place__part"
    ).prefetch_related(Prefetch("holdings", held, to_attr="open_holdings"))


@HOLDERS_OF.join
def holders_of(members: QuerySet[Member], word: str) -> Q:
    """A spot is named by its label, in any usual way to write it."""
    wanted = label_words(word)
    if not any(run.isdecimal() for run in wanted):
        return Q(pk__in=())
    held = Holding.objects.filter(
        ends__isnull=True, spot__rank__season__in=members.values("season").distinct()
    )
    found = [
        h.member_id
        for h in held.select_related("spot__rank")
        if label_words(h.spot.label) == wanted
    ]
    return Q(pk__in=found)


@NEEDS.join
def needs_of_places(members: QuerySet[Member]) -> list[Need]:
    """A spot or an alternate's place needs its part played as long as the member has it."""
    held = Holding.objects.filter(member__in=members, ends__isnull=True)
    needs = [
        Need(
            h.member_id,
            h.spot.part,
            f"holds {h.spot}",
            f"holds {h.spot}, which needs {h.spot.part}",
        )
        for h in held.select_related("spot__rank", "spot__part")
    ]
    places = AlternatePlace.objects.filter(member__in=members).select_related("part", "rank")
    for place in places:
        claim = f"is an alternate of {place.rank}"
        needs.append(Need(place.member_id, place.part, claim, f"{claim} for {place.part}"))
    return needs


@RANKS_LED.join
def ranks_led(member: Member) -> list[Model]:
    """The ranks of which somebody is leader or assistant leader."""
    led = Rank.objects.filter(
        Q(leader=member) | Q(assistant_leader=member), season=member.season_id
    )
    return list(led)


@MEMBER_PAGE.join
def history(member: Member) -> dict[str, Any]:
    """The spots they held."""
    return {"history": queries.member_history(member)}


@SET_UP_PAGE.join
def progress(season: Season) -> dict[str, Any]:
    """How far the ranks have come."""
    return {"state": queries.set_up(season)}
