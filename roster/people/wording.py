"""What files and choices call members."""

from __future__ import annotations

from roster.people.models import Member, Person


def who(member: Member) -> str:
    """What the imports find the member by."""
    return member.person.student_number or member.person.email or member.name


def member_label(member: Member) -> str:
    """'Sam Larkspur (First trumpet, 4-11)': two of one name are told apart by part and place.
    Expects the rows of ``queries.members``."""
    skills = getattr(member, "skills", None)
    if skills is None:
        return member.name
    words = [str(q.part) for q in skills if q.main]
    held = member.open_holdings  # type: ignore[attr-defined]
    place = getattr(member, "alternate_place", None)
    if held:
        words.append(str(held[0].spot))
    elif place is not None:
        words.append(place.words)
    return f"{member.name} ({', '.join(words)})"


def told_apart(one: Person, other: Person) -> tuple[str, str]:
    """Two entries' names; where they are the same name, with what else tells them apart."""
    if str(one) != str(other):
        return str(one), str(other)
    mine, theirs = one.student_number or one.email, other.student_number or other.email
    return f"{one} ({mine or 'no number'})", f"{other} ({theirs or 'no number'})"
