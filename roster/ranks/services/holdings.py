"""Who holds which spot, from when to when: placed, moved, swapped, given up."""

from __future__ import annotations

import datetime

from django.db.models import Q

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import day_words
from bandops.lib.errors import Refused
from roster.people.enums import MemberStatus
from roster.people.models import Member, Part, Season
from roster.ranks.models import AlternatePlace, Holding, Rank, Spot
from roster.ranks.services.alternates import add_alternate, remove_alternate
from roster.ranks.services.spots import close_holding, lock_rows, open_holding


def place_holder(
    *, actor: User, spot: Spot, member: Member, on: datetime.date, note: str = ""
) -> Holding:
    """The member holds the spot from a day; both must be free then. An alternate's place ends."""
    with recorded(actor, "place holder"):
        _refuse_outside(member.season, on)
        if member.status != MemberStatus.ACTIVE:
            raise Refused(f"{member} is {member.get_status_display()}: set them active first.")
        lock_rows([spot], [member])
        _refuse_unqualified(member, spot)
        _refuse_overlap(spot, member, on)
        place = AlternatePlace.objects.filter(member=member).first()
        if place is not None:
            remove_alternate(actor=actor, place=place)
        return Holding.objects.create(
            spot=spot, member=member, starts=on, decided_by=actor, note=note
        )


def vacate_spot(*, actor: User, spot: Spot, on: datetime.date) -> None:
    """The spot's holder gives it up; ``on`` is the first day without them."""
    with recorded(actor, "vacate spot"):
        lock_rows([spot], [])
        holding = open_holding(spot=spot)
        if holding is None:
            raise Refused(f"Nobody holds {spot}.")
        close_holding(holding, on)


def move_holder(*, actor: User, member: Member, to: Spot, on: datetime.date) -> Holding:
    """A holder moves to an empty spot."""
    with recorded(actor, "move holder"):
        _refuse_outside(member.season, on)
        holding = open_holding(member=member)
        if holding is None:
            raise Refused(f"{member} holds no spot.")
        if holding.spot_id == to.pk:
            raise Refused(f"{member} already holds {to}.")
        lock_rows([holding.spot, to], [member])
        close_holding(holding, on)
        return place_holder(actor=actor, spot=to, member=member, on=on)


def swap_holders(*, actor: User, first: Member, second: Member, on: datetime.date) -> None:
    """Two holders exchange spots in one step."""
    with recorded(actor, "swap holders"):
        _refuse_outside(first.season, on)
        one, other = open_holding(member=first), open_holding(member=second)
        if one is None or other is None:
            raise Refused(f"{first if one is None else second} holds no spot.")
        if first == second:
            raise Refused("Choose two different members.")
        lock_rows([one.spot, other.spot], [first, second])
        _refuse_unqualified(first, other.spot)
        _refuse_unqualified(second, one.spot)
        close_holding(one, on)
        close_holding(other, on)
        for member, spot in ((first, other.spot), (second, one.spot)):
            _refuse_overlap(spot, member, on)
            Holding.objects.create(spot=spot, member=member, starts=on, decided_by=actor)


def change_holder(
    *, actor: User, spot: Spot, to: Member, on: datetime.date, note: str = ""
) -> Holding:
    """An alternate takes the spot over from its holder on a day, who gets the alternate's place.

    The holder's days before that stay theirs. A holder who does not play the part of the place
    becomes the last alternate of the spot's own rank and part.
    """
    with recorded(actor, "change holder"):
        _refuse_outside(to.season, on)
        if to.status != MemberStatus.ACTIVE:
            raise Refused(f"{to} is {to.get_status_display()}: set them active first.")
        lock_rows([spot], [to])
        holding = open_holding(spot=spot)
        if holding is None:
            raise Refused(f"Nobody holds {spot}.")
        place = AlternatePlace.objects.filter(member=to).select_related("rank", "part").first()
        if place is None:
            raise Refused(f"{to} is no longer an alternate.")
        _refuse_before(holding, on)
        _refuse_unqualified(to, spot)
        close_holding(holding, on)
        _refuse_overlap(spot, to, on)
        _take_place(actor, holding.member, place, spot)
        return Holding.objects.create(spot=spot, member=to, starts=on, decided_by=actor, note=note)


def _take_place(actor: User, member: Member, place: AlternatePlace, left: Spot) -> None:
    """Whoever gave a spot up takes over an alternate's place, or stands last where they played."""
    if member.qualifications.filter(part_id=place.part_id).exists():
        place.member = member
        place.save()
        return
    remove_alternate(actor=actor, place=place)
    add_alternate(actor=actor, member=member, rank=left.rank, part=left.part)


def take_over(*, actor: User, spot: Spot, to: Member, on: datetime.date, note: str = "") -> Holding:
    """A holder takes another's spot over on a day, who gets the one they leave.

    Who does not play that one's part becomes the last alternate where they played, and the spot
    that was left is nobody's.
    """
    with recorded(actor, "take spot over"):
        _refuse_outside(to.season, on)
        mine, theirs = open_holding(member=to), open_holding(spot=spot)
        if mine is None or theirs is None:
            raise Refused(f"{to} and {spot} no longer have a spot and a holder to change.")
        loser = theirs.member
        lock_rows([spot, mine.spot], [to, loser])
        _refuse_unqualified(to, spot)
        for holding in (mine, theirs):
            _refuse_before(holding, on)
            close_holding(holding, on)
        _refuse_overlap(spot, to, on)
        made = Holding.objects.create(spot=spot, member=to, starts=on, decided_by=actor, note=note)
        if loser.qualifications.filter(part_id=mine.spot.part_id).exists():
            place_holder(actor=actor, spot=mine.spot, member=loser, on=on)
        else:
            add_alternate(actor=actor, member=loser, rank=spot.rank, part=spot.part)
    return made


def become_alternate(
    *, actor: User, member: Member, rank: Rank, part: Part, on: datetime.date
) -> AlternatePlace:
    """Leave the present place, if any, and become an alternate."""
    with recorded(actor, "become alternate"):
        leave_places(actor=actor, member=member, on=on)
        return add_alternate(actor=actor, member=member, rank=rank, part=part)


def leave_places(*, actor: User, member: Member, on: datetime.date) -> Spot | None:
    """Give up a spot or an alternate's place; returns the spot that was held."""
    with recorded(actor, "give up places"):
        place = AlternatePlace.objects.filter(member=member).first()
        if place is not None:
            remove_alternate(actor=actor, place=place)
        Rank.objects.filter(leader=member).update(leader=None)
        Rank.objects.filter(assistant_leader=member).update(assistant_leader=None)
        holding = open_holding(member=member)
        if holding is None:
            return None
        lock_rows([holding.spot], [member])
        close_holding(holding, on)
        return holding.spot


def _refuse_outside(season: Season, on: datetime.date) -> None:
    if not season.starts <= on <= season.ends:
        first, last = day_words(season.starts), day_words(season.ends)
        raise Refused(f"{day_words(on)} is outside the season ({first} to {last}).")


def _refuse_before(holding: Holding, on: datetime.date) -> None:
    if holding.starts > on:
        first = day_words(holding.starts)
        raise Refused(f"{holding.member} holds {holding.spot} only from {first}.")


def _refuse_unqualified(member: Member, spot: Spot) -> None:
    if not member.qualifications.filter(part_id=spot.part_id).exists():
        raise Refused(f"{member} does not play {spot.part}, which {spot} needs.")


def _refuse_overlap(spot: Spot, member: Member, on: datetime.date) -> None:
    holdings = Holding.objects.filter(Q(ends__isnull=True) | Q(ends__gt=on))
    holdings = holdings.select_related("spot__rank", "member__person")
    taken = holdings.filter(spot=spot).first()
    if taken is not None:
        raise Refused(f"{taken.member} holds {spot} then.")
    other = holdings.filter(member=member).first()
    if other is not None:
        raise Refused(f"{member} holds {other.spot} then.")
