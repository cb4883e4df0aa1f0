"""How the list of members is narrowed and sorted."""

from __future__ import annotations

from django_filters import ChoiceFilter, OrderingFilter

from bandops.lib.web.lists import Filters
from roster.people.enums import MemberStatus
from roster.people.fields import MemberSearch, PartFilter
from roster.people.models import Member

SORTED_BY = (("person__sort_key", "name"), ("years_marched", "years"))
SORTS = (("name", "name"), ("-years", "most years first"), ("years", "fewest years first"))


class MemberFilters(Filters):
    """Members by name, number, part or spot, by status and part."""

    starts_with = {"status": MemberStatus.ACTIVE}
    q = MemberSearch(label="Name, number, part or spot")
    part = PartFilter()
    status = ChoiceFilter(choices=MemberStatus.choices, label="Status", empty_label="any")
    sort = OrderingFilter(fields=SORTED_BY, choices=SORTS, label="Sorted by", empty_label=None)

    class Meta:
        model = Member
        fields: list[str] = []
