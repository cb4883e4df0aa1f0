"""What ranks add to the pages and rules of people."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db.models import Model, Prefetch, Q, QuerySet

from bandops.lib.accounts.models import User
from bandops.lib.names import label_words
from roster.people.models import Member, Part, Season
from roster.people.ties import (
    CARRY_OVER,
    HOLDERS_OF,
    MEMBER_PAGE,
    MERGE_HINDRANCES,
    MERGE_SETTLES,
    MOVE_PLACES,
    NEEDS,
    PLACES,
    RANKS_LED,
    READ_WITH,
    SET_UP_PAGE,
    Need,
    Place,
)
from roster.ranks import queries
from roster.ranks.models import AlternatePlace, Holding, Rank
from roster.ranks.services.alternates import remove_alternate
from roster.ranks.services.next_season import copy_ranks
from roster.ranks.services.parts import move_places, places_of


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


@MERGE_HINDRANCES.join
def held_at_once(stays: Member, goes: Member) -> list[str]:
    """Nobody holds two spots on the same days."""
    mine = list(stays.holdings.select_related("spot__rank", "member__person"))
    return [
        f"{one.member} holds {one.spot} and {other.member} holds {other.spot} on the same days: "
        "end one of them first."
        for other in goes.holdings.select_related("spot__rank", "member__person")
        for one in mine
        if _overlap(one, other)
    ]


def _overlap(one: Holding, other: Holding) -> bool:
    return (other.ends is None or one.starts < other.ends) and (
        one.ends is None or other.starts < one.ends
    )


@MERGE_SETTLES.join
def one_place(actor: User, stays: Member, goes: Member) -> list[str]:
    """One place is left: a spot before an alternate's place, else that of the one who stays."""
    places = {
        place.member_id: place
        for place in AlternatePlace.objects.filter(member__in=[stays, goes]).select_related(
            "rank", "part", "member__person"
        )
    }
    holds = Holding.objects.filter(member__in=[stays, goes], ends__isnull=True).exists()
    keeps = None if holds else next((m for m in (stays.pk, goes.pk) if m in places), None)
    given_up = [place for pk, place in places.items() if pk != keeps]
    notes = [f"No longer an alternate: {place}." for place in given_up]
    for place in given_up:
        remove_alternate(actor=actor, place=place)
    return notes


@PLACES.join
def places_of_part(part: Part) -> list[Place]:
    """The spots and alternates' places that need a part."""
    return places_of(part)


@MOVE_PLACES.join
def move_places_of_part(actor: User, part: Part, moves: Mapping[str, Part]) -> None:
    """Spots and alternates' places need another part from now on."""
    move_places(actor=actor, part=part, moves=moves)


CARRY_OVER.join(copy_ranks)
