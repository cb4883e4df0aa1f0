"""Choosing members, of whom two of one name are told apart, and narrowing lists of them."""

from __future__ import annotations

from django import forms
from django.db.models import QuerySet
from django_filters import CharFilter, ModelChoiceFilter

from roster.people import queries
from roster.people.models import Member, Part
from roster.people.wording import member_label


class MemberField(forms.ModelChoiceField[Member]):
    """One member."""

    default_error_messages = {
        "invalid_choice": "This member cannot be chosen here: they have left, are on leave, or are "
        "in another rank now."
    }

    def label_from_instance(self, obj: Member) -> str:
        return member_label(obj)


class MembersField(forms.ModelMultipleChoiceField[Member]):
    """Several members."""

    def label_from_instance(self, obj: Member) -> str:
        return member_label(obj)


class MemberSearch(CharFilter):  # type: ignore[misc]
    """Members by name, number, part or spot, as the search finds them."""

    def filter(self, qs: QuerySet[Member], value: str | None) -> QuerySet[Member]:
        text = (value or "").strip()
        return queries.search_members(qs, text) if text else qs


class PartFilter(ModelChoiceFilter):  # type: ignore[misc]
    """Members who play a part of the season."""

    def __init__(self) -> None:
        super().__init__(queryset=_parts_of, label="Plays", empty_label="any part")

    def filter(self, qs: QuerySet[Member], value: Part | None) -> QuerySet[Member]:
        return qs.filter(qualifications__part=value).distinct() if value else qs


def _parts_of(request: object) -> QuerySet[Part]:
    season = getattr(request, "viewer").this_season  # noqa: B009
    return queries.parts(season)
