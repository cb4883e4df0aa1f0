"""What files call members."""

from __future__ import annotations

from roster.people.models import Member


def who(member: Member) -> str:
    """What the imports find the member by."""
    return member.person.student_number or member.person.email or member.name
