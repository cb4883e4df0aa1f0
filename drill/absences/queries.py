"""Reused reads of absences."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from drill.absences.enums import COUNTING
from drill.absences.models import Absence
from drill.events.models import Event
from roster.people.models import Season


def absences_at(event: Event) -> QuerySet[Absence]:
    """Entries that may speak of the event and count."""
    dated = Q(from_date__lte=event.date) & (
        Q(until_date__isnull=True) | Q(until_date__gte=event.date)
    )
    return Absence.objects.filter(
        Q(event=event) | (Q(event__isnull=True) & dated),
        member__season=event.season_id,
        state__in=COUNTING,
    )


def absences(season: Season) -> QuerySet[Absence]:
    """All entries, latest first, with what lists show."""
    return Absence.objects.filter(member__season=season).select_related(
        "member__person", "event", "segment", "reported_by"
    )
