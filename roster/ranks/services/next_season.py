"""Ranks and spots of the next season, and who holds them where that is wanted."""

from __future__ import annotations

from roster.people.services.next_season import Carried, copies
from roster.ranks.models import Holding, Rank, Spot


def copy_ranks(carried: Carried) -> None:
    """Inside an action: leaders come along where they are members again."""
    members = carried.members
    for rank in Rank.objects.filter(season=carried.old):
        spots = list(Spot.objects.filter(rank=rank.pk))
        leader, assistant = rank.leader_id or 0, rank.assistant_leader_id or 0
        (new,) = copies(
            [rank],
            season=carried.new,
            leader=members.get(leader),
            assistant_leader=members.get(assistant),
        ).values()
        for spot in spots:
            held = Holding.objects.filter(spot=spot.pk, ends=None).first()
            (made,) = copies([spot], rank=new, part=carried.parts[spot.part_id]).values()
            holder = members.get(held.member_id) if held is not None else None
            if holder is not None and carried.wanted.holders:
                Holding.objects.create(spot=made, member=holder, starts=carried.new.starts)
