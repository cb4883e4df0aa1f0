"""What the store does when the next season begins: it is the band's, whatever the year."""

from __future__ import annotations

from roster.equipment.models import Issue, Kind
from roster.people.services.next_season import Carried
from roster.people.ties import CARRY_OVER


@CARRY_OVER.join
def carry_store_over(carried: Carried) -> None:
    """Kinds are of the new season's instruments, too; what somebody has who is in the band again
    stays theirs. What others still have stays on the list of what is out."""
    for kind in Kind.objects.prefetch_related("instruments"):
        kind.instruments.add(
            *(
                carried.instruments[i.pk]
                for i in kind.instruments.all()
                if i.pk in carried.instruments
            )
        )
    for issue in Issue.objects.filter(member__in=carried.members, returned_at=None):
        issue.member = carried.members[issue.member_id]
        issue.save()
