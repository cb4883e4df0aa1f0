"""Reused reads of what is worn."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q

from drill.events.models import Event, Segment
from drill.outfits.models import Excused, Worn


def worn_at(event: Event, segments: Iterable[Segment]) -> list[Worn]:
    """What an event's uniform and its shows ask for."""
    shows = {s.show_id for s in segments if s.show_id}
    rows = Worn.objects.filter(Q(event=event) | Q(show__in=shows)).select_related("kind", "show")
    return list(rows.prefetch_related("instruments"))


def excused(event: Event) -> set[tuple[int, int]]:
    """(member, kind) that need no piece."""
    return set(Excused.objects.filter(event=event).values_list("member", "kind"))
