"""How the list of candidates is narrowed."""

from __future__ import annotations

from django.db.models import Count, QuerySet
from django_filters import CharFilter, ChoiceFilter, ModelChoiceFilter

from bandops.lib.web.lists import Filters
from roster.people import queries as people_queries
from roster.people.models import Part
from roster.tryouts import queries
from roster.tryouts.models import Candidate, ReadinessItem

STATES = (
    ("here", "checked in"),
    ("not here", "not checked in"),
    ("missing", "something missing"),
    ("withdrawn", "withdrew"),
)


class CandidateSearch(CharFilter):  # type: ignore[misc]
    """Candidates by name or student number."""

    def filter(self, qs: QuerySet[Candidate], value: str | None) -> QuerySet[Candidate]:
        text = (value or "").strip()
        return queries.search_candidates(qs, text) if text else qs


class WantedFilter(ModelChoiceFilter):  # type: ignore[misc]
    """Candidates who want a part."""

    def __init__(self) -> None:
        super().__init__(queryset=_parts_of, label="Wants", empty_label="any part")

    def filter(self, qs: QuerySet[Candidate], value: Part | None) -> QuerySet[Candidate]:
        return qs.filter(wishes__part=value) if value else qs


def _parts_of(request: object) -> QuerySet[Part]:
    return people_queries.parts(getattr(request, "viewer").this_season)  # noqa: B009


class StateFilter(ChoiceFilter):  # type: ignore[misc]
    """Candidates by how far they are."""

    def filter(self, qs: QuerySet[Candidate], value: str | None) -> QuerySet[Candidate]:
        if value == "withdrawn":
            return qs.filter(withdrawn_at__isnull=False)
        qs = qs.filter(withdrawn_at__isnull=True)
        if value in ("here", "not here"):
            return qs.filter(checked_in_at__isnull=value == "not here")
        return lacking(qs) if value == "missing" else qs


def lacking(qs: QuerySet[Candidate]) -> QuerySet[Candidate]:
    """Those who lack an item."""
    items = ReadinessItem.objects.filter(tryout__in=qs.values("tryout")).count()
    qs = qs.annotate(has=Count("ready", distinct=True))
    return qs.filter(has__lt=items)


class CandidateFilters(Filters):
    """Candidates by name, part and state."""

    q = CandidateSearch(label="Name or student number")
    part = WantedFilter()
    state = StateFilter(choices=STATES, label="State", empty_label="all who try out")
