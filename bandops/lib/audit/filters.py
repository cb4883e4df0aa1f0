"""How the history is searched: about whom, by whom, of what kind, on which day."""

from __future__ import annotations

import datetime
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone
from django.utils.text import capfirst
from django_filters import CharFilter, ChoiceFilter, Filter

from bandops.lib.audit import searching
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.naming import table_name
from bandops.lib.audit.triggers import audited_models
from bandops.lib.web.forms import DayField
from bandops.lib.web.lists import Filters

Entries = QuerySet[AuditEntry]


def _kinds() -> list[tuple[str, str]]:
    """The tables, in words and in their order."""
    own = [m._meta.db_table for m in audited_models() if not m._meta.auto_created]
    words = sorted((capfirst(table_name(table)), table) for table in own)
    return [(table, word) for word, table in words]


class DayFilter(Filter):  # type: ignore[misc]
    """What was written on a day of the band's clock."""

    field_class = DayField

    def filter(self, qs: Entries, value: datetime.date | None) -> Entries:
        if not value:
            return qs
        first = timezone.make_aware(datetime.datetime.combine(value, datetime.time.min))
        return qs.filter(at__gte=first, at__lt=first + datetime.timedelta(days=1))


class WhoFilter(CharFilter):  # type: ignore[misc]
    """Who did it, by a part of the name they had then."""

    def __init__(self, label: str) -> None:
        super().__init__(field_name="actor_label", lookup_expr="icontains", label=label)


class LookFilters(Filters):
    """Who looked at what is kept private. Whoever looked at a list saw everybody in it, so lists
    stay when one member is asked for."""

    about = CharFilter(method="of_member", label="Member")
    who = WhoFilter("Who looked")
    day = DayFilter(label="Day")

    class Meta:
        model = AuditEntry
        fields: list[str] = []

    def of_member(self, rows: Entries, name: str, text: str) -> Entries:
        about = searching.rows_about(self.request.viewer, text)
        return rows.filter(searching.of_rows(about) | searching.OF_LISTS)


class HistoryFilters(Filters):
    """What was done. Nothing asked shows what the season's staff did lately; what others did is
    shown where somebody is asked for."""

    about = CharFilter(method="with_member", label="Member")
    who = WhoFilter("Who did it")
    kind = ChoiceFilter(field_name="table", choices=_kinds, label="What", empty_label="Everything")
    day = DayFilter(label="Day")

    class Meta:
        model = AuditEntry
        fields: list[str] = []

    def with_member(self, rows: Entries, name: str, text: str) -> Entries:
        about = searching.rows_about(self.request.viewer, text)
        return rows.filter(searching.of_rows(about) | searching.pointing_to(about))

    @property
    def rows(self) -> QuerySet[Any]:
        found = super().rows
        if not self.asked:
            return searching.lately(self.request.viewer, found)
        if self.asked.get("who"):
            return found
        return searching.by_staff(self.request.viewer, found)
