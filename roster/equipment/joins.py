"""What the store does when the next season begins, and when somebody is erased."""

from __future__ import annotations

from bandops.lib.erasing.everywhere import blank_entries
from roster.equipment.models import Issue, Kind, Measurement, Wearer
from roster.people.models import Member, Person, Season
from roster.people.services.next_season import Carried
from roster.people.ties import CARRY_OVER, ERASED, SEASON_CHANGED


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
    out = Issue.objects.filter(member__in=carried.members, returned_at=None)
    for pk, member in out.values_list("pk", "member"):
        _moved(pk, carried.members[member].pk)


@SEASON_CHANGED.join
def follow_people(season: Season) -> None:
    """What somebody has is with the membership they have in the season that is shown."""
    there = dict(Member.objects.filter(season=season).values_list("person", "pk"))
    out = Issue.objects.filter(returned_at=None, member__person__in=there)
    elsewhere = out.exclude(member__season=season)
    for pk, person in elsewhere.values_list("pk", "member__person"):
        _moved(pk, there[person])


def _moved(pk: int, member: int) -> None:
    """Unless it has come back in this moment."""
    Issue.objects.filter(pk=pk, returned_at=None).update(member_id=member)


@ERASED.join
def forget_measurements(people: list[Person], members: list[Member]) -> None:
    """Figures of a body go, and what the audit says of them; who had which item stays counted."""
    rows = list(Measurement.objects.filter(person__in=people))
    ids = [row.pk for row in rows]
    Measurement.objects.filter(pk__in=ids).delete()
    Wearer.objects.filter(person__in=people).delete()
    blank_entries(rows, ("ticks",), "(erased)")
