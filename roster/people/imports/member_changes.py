"""What a row changes of a member, in words and in the database."""

from __future__ import annotations

from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.imports.plan import FieldChange
from roster.people.entries.rows import Wanted
from roster.people.models import Member, Person, Season
from roster.people.services.people import may_march_facts, write_qualifications


def changes_of(person: Person, member: Member | None, wanted: Wanted) -> list[FieldChange]:
    """What the row changes of a known person, in words."""
    changes = []
    pairs: list[tuple[Any, dict[str, Any]]] = [(person, wanted.person)]
    if member is not None:
        pairs.append((member, wanted.member))
    for target, values in pairs:
        for name, value in values.items():
            old = getattr(target, name)
            if old != value:
                changes.append(
                    FieldChange(name.replace("_", " "), _shown(name, old), _shown(name, value))
                )
    if member is not None:
        main, doubles = wanted.skills(member)
        now = {(q.part.code, q.main, q.own_instrument) for q in member.qualifications.all()}
        new = {(s.part.code, s is main, s.own_instrument) for s in (main, *doubles)}
        if now != new:
            changes.append(FieldChange("parts", _parts(now), _parts(new)))
    return changes


def values_of_new(person: Person | None, wanted: Wanted, written: str) -> list[FieldChange]:
    """What a new member gets that is not there without being said; the legal name where it is
    read otherwise than it is ``written``."""
    values: list[tuple[Any, dict[str, Any]]] = [(Member(), wanted.member)]
    if person is None:
        values.insert(0, (Person(), wanted.person))
    changes = [
        FieldChange(name.replace("_", " "), "", _shown(name, value))
        for empty, given in values
        for name, value in given.items()
        if name != "legal_name" and value != getattr(empty, name)
    ]
    name = wanted.person.get("legal_name", written)
    if person is None and name != written:
        changes.insert(0, FieldChange("legal name", written, name))
    main, doubles = wanted.skills(None)
    parts = {(s.part.code, s is main, s.own_instrument) for s in (main, *doubles)}
    return [*changes, FieldChange("parts", "", _parts(parts))]


def _shown(name: str, value: Any) -> str:
    if name == "emergency_contact":
        return "…" if value else ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def _parts(rows: set[tuple[str, bool, bool]]) -> str:
    ordered = sorted(rows, key=lambda row: (not row[1], row[0]))
    return ", ".join(code + (" (own)" if own else "") for code, _, own in ordered)


def save_member(
    actor: User, season: Season, person: Person | None, member: Member | None, wanted: Wanted
) -> tuple[Member, bool]:
    """Write the person, the member and their parts; True when they may march less than before."""
    person = person or Person()
    for name, value in wanted.person.items():
        setattr(person, name, value)
    person.save()
    main, doubles = wanted.skills(member)
    if member is None:
        member = Member(person=person, season=season)
    now, facts = (member.cleared, member.cleared_until), may_march_facts(member)
    for name, value in wanted.member.items():
        setattr(member, name, value)
    if (member.cleared, member.cleared_until) != now:
        member.cleared_by = str(actor)[:100]
    member.save()
    lost = write_qualifications(member=member, main=main, doubles=doubles)
    return member, lost or may_march_facts(member) != facts
