"""How the list of absences is narrowed and sorted."""

from __future__ import annotations

from django.db.models import QuerySet
from django_filters import CharFilter, ChoiceFilter, ModelChoiceFilter, OrderingFilter

from bandops.lib.web.lists import Filters
from drill.absences.enums import AbsenceKind, AbsenceState
from drill.absences.models import Absence
from drill.events.models import Event
from roster.people import queries as people_queries
from roster.people.models import Member

SORTED_BY = (("pk", "entered"), ("member__person__sort_key", "name"))
SORTS = (("-entered", "latest first"), ("entered", "oldest first"), ("name", "name"))
DECIDED = [choice for choice in AbsenceState.choices if choice[0] != AbsenceState.REPORTED]


def events_of_season(request: object) -> QuerySet[Event]:
    """The season's events, for the list of choices."""
    season = getattr(request, "viewer").this_season  # noqa: B009
    return Event.objects.filter(season=season)


class AbsenceFilters(Filters):
    """Absences by member, kind, event and state."""

    q = CharFilter(method="search", label="Member")
    kind = ChoiceFilter(choices=AbsenceKind.choices, label="What", empty_label="any")
    event = ModelChoiceFilter(queryset=events_of_season, label="Event", empty_label="any")
    state = ChoiceFilter(choices=DECIDED, label="State", empty_label="any")
    sort = OrderingFilter(fields=SORTED_BY, choices=SORTS, label="Sorted by", empty_label=None)

    class Meta:
        model = Absence
        fields: list[str] = []

    def search(self, rows: QuerySet[Absence], name: str, text: str) -> QuerySet[Absence]:
        if not text.strip():
            return rows
        season = self.request.viewer.this_season
        members = people_queries.search_members(Member.objects.filter(season=season), text)
        return rows.filter(member__in=members)
