"""What absences do when somebody is erased."""

from __future__ import annotations

from bandops.lib.erasing.everywhere import blank_entries
from drill.absences.models import Absence
from roster.people.models import Member, Person
from roster.people.ties import ERASED


@ERASED.join
def forget_reasons(people: list[Person], members: list[Member]) -> None:
    """That somebody was out stays counted; of which kind of reason does not."""
    rows = list(Absence.objects.filter(member__in=members))
    Absence.objects.filter(member__in=members).update(category="", review_date=None)
    blank_entries(rows, ("category", "review_date"), "(erased)")
