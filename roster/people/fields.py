"""Choosing members: two of one name are told apart by part and place."""

from __future__ import annotations

from django import forms

from roster.people.models import Member


def member_label(member: Member) -> str:
    """'Sam Larkspur (First trumpet, 4-11)'; expects the rows of ``queries.members``."""
    skills = getattr(member, "skills", None)
    if skills is None:
        return member.name
    words = [str(q.part) for q in skills if q.main]
    held = member.open_holdings  # type: ignore[attr-defined]
    place = getattr(member, "alternate_place", None)
    if held:
        words.append(str(held[0].spot))
    elif place is not None:
        words.append(f"alternate {place.standing}, {place.rank}")
    return f"{member.name} ({', '.join(words)})"


class MemberField(forms.ModelChoiceField[Member]):
    """One member."""

    def label_from_instance(self, obj: Member) -> str:
        return member_label(obj)


class MembersField(forms.ModelMultipleChoiceField[Member]):
    """Several members."""

    def label_from_instance(self, obj: Member) -> str:
        return member_label(obj)
