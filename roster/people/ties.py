"""What later rooms know of members: where they belong, what that needs, whom they lead."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Model, Q, QuerySet

from bandops.lib.accounts.models import User
from bandops.lib.ties import Tie
from roster.people.models import Member, Part, Person, Season


@dataclass(frozen=True)
class Need:
    """A part that a member must keep: ``claim`` says why in a list, ``refusal`` in a sentence."""

    member_id: int
    part: Part
    claim: str
    refusal: str


READ_WITH: Tie[[QuerySet[Member]], QuerySet[Member]] = Tie()
"""adds what lists of members show to their query"""
HOLDERS_OF: Tie[[QuerySet[Member], str], Q] = Tie()
"""those of some members who hold the spot that a word names"""
NEEDS: Tie[[QuerySet[Member]], list[Need]] = Tie()
"""the parts that some members must keep playing"""
RANKS_LED: Tie[[Member], list[Model]] = Tie()
"""the ranks a member leads"""
MAY_MARCH_LESS: Tie[[User, Season, Collection[int]], list[str]] = Tie()
"""members (ids) who may march less than before: on leave, left, not cleared or eligible any more, a
part less. Whatever names them in events to come follows; the sentences say what did"""
MARCHES_NEXT: Tie[[Season], dict[int, list[str]]] = Tie()
"""member id -> the events to come whose published lineup has them"""
MEMBER_PAGE: Tie[[Member], dict[str, Any]] = Tie()
"""more to show on a member's page"""
SET_UP_PAGE: Tie[[Season], dict[str, Any]] = Tie()
"""more to show on the page of the first set-up"""
ACCOUNT_SHUT: Tie[[User], None] = Tie()
"""whatever opens something for the account without a sign-in is switched off"""
EVENTS_TO_COME: Tie[[Season], int] = Tie()
"""how many events of the season are not over"""
ERASED: Tie[[list[Person], list[Member]], None] = Tie()
"""inside the action that erases a person (all their entries and memberships): what is private and
of no count goes"""
CARRY_OVER: Tie[[Any], None] = Tie()
"""the next season is set up (a ``Carried`` of ``services/next_season``): copies what lasts"""
SEASON_CHANGED: Tie[[Season], None] = Tie()
"""inside the action that makes an earlier or later season the current one: what goes with people
from season to season follows"""
MERGE_HINDRANCES: Tie[[Member, Member], list[str]] = Tie()
"""what stands in the way of merging two memberships of a season (who stays, who goes), and what
to do about it"""
MERGE_SETTLES: Tie[[User, Member, Member], list[str]] = Tie()
"""settles, before all rows are moved by their tables' rules, what needs more than that (who acts,
who stays, who goes); says in words what it did"""


def needs_of(members: QuerySet[Member]) -> list[Need]:
    """All needs of some members."""
    return [need for needs in NEEDS.ask(members) for need in needs]


@dataclass(frozen=True)
class Place:
    """A spot or an alternate's place that needs a part: ``key`` finds it again."""

    key: str
    label: str
    member_id: int | None


PLACES: Tie[[Part], list[Place]] = Tie()
"""the places that need a part"""
MOVE_PLACES: Tie[[User, Part, Mapping[str, Part]], None] = Tie()
"""an account has places of a part, by key, need another part"""


def places_of(part: Part) -> list[Place]:
    """All places that need a part."""
    return [place for places in PLACES.ask(part) for place in places]


def follow(actor: User, season: Season, member_ids: Collection[int]) -> list[str]:
    """Have everything to come follow members who may march less; what did, in sentences."""
    if not member_ids:
        return []
    return [line for lines in MAY_MARCH_LESS.ask(actor, season, member_ids) for line in lines]
