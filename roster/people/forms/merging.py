"""Choosing two members that are one person."""

from __future__ import annotations

from typing import Any

from django import forms

from roster.people import queries
from roster.people.fields import MemberField
from roster.people.models import Member, Season


class TwoMembersForm(forms.Form):
    """Any two members of the season."""

    stays = MemberField(Member.objects.none(), label="Keep", empty_label="Choose a member")
    goes = MemberField(
        Member.objects.none(), label="Merge into that one", empty_label="Choose a member"
    )

    def __init__(self, season: Season, data: Any = None) -> None:
        super().__init__(data)
        for field in self.fields.values():
            assert isinstance(field, MemberField)
            field.queryset = queries.present(season)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("stays") and data.get("stays") == data.get("goes"):
            self.add_error("goes", "Choose two different members.")
        return data
