"""Reused reads of absences."""

from __future__ import annotations

from django.db.models import Q, QuerySet
from django.db.models.functions import Coalesce

from drill.absences.enums import COUNTING, AbsenceState
from drill.absences.models import Absence
from drill.events.models import Event
from roster.people.models import Season

WHEN_MADE = Coalesce("noted_at", "created_at")
"""an entry made later wins, whenever it arrived"""


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


def reported_absences(season: Season) -> QuerySet[Absence]:
    """Reports that staff have not decided about."""
    return Absence.objects.filter(member__season=season, state=AbsenceState.REPORTED)


def absences(season: Season) -> QuerySet[Absence]:
    """All entries, the one made last first, with what lists show."""
    entries = Absence.objects.filter(member__season=season).select_related(
        "member__person", "event", "segment", "reported_by"
    )
    return entries.order_by(WHEN_MADE.desc(), "-pk")
