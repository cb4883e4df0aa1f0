"""How the list of items is narrowed."""

from __future__ import annotations

from django.db.models import Q, QuerySet
from django_filters import CharFilter, ChoiceFilter, ModelChoiceFilter

from bandops.lib.names import plain
from bandops.lib.web.lists import Filters
from roster.equipment.enums import ItemState
from roster.equipment.models import Item, Kind
from roster.equipment.models.items import tag_key


class ItemSearch(CharFilter):  # type: ignore[misc]
    """Items by tag, place, or who has them."""

    def filter(self, qs: QuerySet[Item], value: str | None) -> QuerySet[Item]:
        text = (value or "").replace("\0", " ").strip()
        if not text:
            return qs
        found = Q(place__icontains=text)
        if key := tag_key(text):
            found |= Q(tag_key__contains=key)
        if name := plain(text):
            found |= Q(
                issues__returned_at__isnull=True, issues__member__person__search__contains=name
            )
        return qs.filter(found).distinct()


class ItemFilters(Filters):
    """Items by tag, kind and state."""

    q = ItemSearch(label="Tag, place or member")
    kind = ModelChoiceFilter(queryset=Kind.objects.all(), label="Kind", empty_label="any kind")
    state = ChoiceFilter(choices=ItemState.choices, label="State", empty_label="any state")
