"""Choosing members: two of one name are told apart by part and place."""

from __future__ import annotations

from django import forms

from roster.people.models import Member
from roster.people.wording import member_label


class MemberField(forms.ModelChoiceField[Member]):
    """One member."""

    default_error_messages = {
        "invalid_choice": "This member cannot be chosen here: they have left, are on leave, or are "
        "in another rank by now."
    }

    def label_from_instance(self, obj: Member) -> str:
        return member_label(obj)


class MembersField(forms.ModelMultipleChoiceField[Member]):
    """Several members."""

    def label_from_instance(self, obj: Member) -> str:
        return member_label(obj)
