"""How the members of the marching record are narrowed and sorted."""

from __future__ import annotations

from django.db.models import QuerySet
from django_filters import ChoiceFilter

from bandops.lib.web.lists import Filters
from drill.record.core.record import RecordCounts
from roster.people.fields import MemberSearch, PartFilter
from roster.people.models import Member

Share = tuple[Member, RecordCounts]
SORTS = (
    ("name", "name"),
    ("percent", "smallest share first"),
    ("-percent", "largest share first"),
)


class ShareFilters(Filters):
    """Members by name and part; the order is that of their shares, which no table holds."""

    starts_with = {"sort": "name"}
    q = MemberSearch(label="Name, part or spot")
    part = PartFilter()
    sort = ChoiceFilter(choices=SORTS, label="Sorted by", method="as_it_is", empty_label=None)

    class Meta:
        model = Member
        fields: list[str] = []

    def as_it_is(self, rows: QuerySet[Member], name: str, value: str) -> QuerySet[Member]:
        return rows

    def sorted(self, shares: list[Share]) -> list[Share]:
        """The shares of the members that are left, in the order that was chosen."""
        left = set(self.rows.values_list("pk", flat=True))
        found = [share for share in shares if share[0].pk in left]
        how = self.form.cleaned_data.get("sort")
        if how in ("percent", "-percent"):
            found.sort(key=lambda share: share[1].percent, reverse=how == "-percent")
        return found
