"""Long lists: filtered and sorted by what the address says, a page at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest
from django_filters import FilterSet

A_PAGE = 30
"""lines of a list that stand on one page, on a phone as well"""


class Filters(FilterSet):  # type: ignore[misc]
    """A list's filters. ``starts_with`` is what they are set to before anybody chooses; a choice
    that is none (an old address) filters nothing."""

    starts_with: dict[str, str] = {}

    @classmethod
    def of(cls, request: HttpRequest, queryset: QuerySet[Any]) -> Filters:
        data = request.GET.copy()
        for name, value in cls.starts_with.items():
            data.setdefault(name, value)
        return cls(data, queryset=queryset, request=request)

    @property
    def asked(self) -> dict[str, Any]:
        """What was chosen, by name."""
        self.form.is_valid()
        return {name: value for name, value in self.form.cleaned_data.items() if value}

    @property
    def rows(self) -> QuerySet[Any]:
        """What is left."""
        if not self.form.is_valid():
            for name in self.form.errors:
                self.form.cleaned_data[name] = None
        found: QuerySet[Any] = self.filter_queryset(self.queryset.all())
        return found


def page_of(
    request: HttpRequest, rows: Sequence[Any] | QuerySet[Any], size: int = A_PAGE
) -> Page[Any]:
    """The page that was asked for, the nearest where there is none of that number."""
    return Paginator(rows, size).get_page(request.GET.get("page"))
