"""What music adds to the next season: excerpts, without their days, and who hears them."""

from __future__ import annotations

from roster.music.models import Excerpt, SectionLeader
from roster.people.services.next_season import Carried, copies
from roster.people.ties import CARRY_OVER


@CARRY_OVER.join
def copy_excerpts(carried: Carried) -> None:
    for excerpt in Excerpt.objects.filter(season=carried.old):
        part = carried.parts.get(excerpt.part_id or 0)
        instrument = carried.instruments.get(excerpt.instrument_id or 0)
        copies([excerpt], season=carried.new, part=part, instrument=instrument, due=None)
    for leader in SectionLeader.objects.filter(member__season=carried.old):
        member = carried.members.get(leader.member_id)
        if member is not None:
            instrument = carried.instruments[leader.instrument_id]
            copies([leader], member=member, instrument=instrument)
