"""The values of two entries of one person made one."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import Any

from django.db import models

from roster.people.enums import MemberStatus, Standing
from roster.people.models import Member, Person, Qualification

CHOSEN_OF_PERSONS = (
    "legal_name",
    "used_name",
    "pronunciation",
    "pronouns",
    "email",
    "student_number",
)
CHOSEN_OF_MEMBERS = ("phone", "years_marched")
ALONE = frozenset(["student_number"])
"""what two entries cannot have at once"""
FILLED = ("emergency_contact",)
PRESENCE = (MemberStatus.ACTIVE, MemberStatus.ON_LEAVE, MemberStatus.LEFT)
STRICTNESS = (Standing.NO, Standing.UNTIL, Standing.YES)


def merge_persons(stays: Person, goes: Person, chosen: Collection[str], batch: str) -> None:
    """One person's details; what is not chosen stays with the entry that goes, to be found by."""
    before = _values(stays)
    number_moves = bool(_exchange(stays, goes, ["student_number"], chosen))
    _exchange(stays, goes, CHOSEN_OF_PERSONS[:-1], chosen)
    for name in ("listed", "share_contact"):
        setattr(stays, name, getattr(stays, name) and getattr(goes, name))
    if stays.user_id is None:
        stays.user_id, goes.user_id = goes.user_id, None
    number = goes.student_number
    goes.merged_into, goes.merge_batch = stays, batch
    if number_moves:
        goes.student_number = ""  # a number is one person's at any moment
    goes.save()
    if _values(stays) != before:
        stays.save()
    if number_moves and number:
        goes.student_number = number
        goes.save()


def merge_members(stays: Member, goes: Member, chosen: Collection[str]) -> list[str]:
    """One membership's details and parts; what was settled, in words."""
    before = _values(stays)
    _exchange(stays, goes, (*CHOSEN_OF_MEMBERS, *FILLED), chosen)
    notes = []
    if goes.emergency_contact and goes.emergency_contact != stays.emergency_contact:
        notes.append(f"Two emergency contacts: {stays}'s stays. Check it afterward.")
    both = (MemberStatus(stays.status), MemberStatus(goes.status))
    stays.status = min(both, key=PRESENCE.index)
    for name in ("cleared", "eligible"):
        if _stricter(goes, stays, name):
            notes.append(f"“{name.capitalize()}” becomes the stricter of the two.")
            for part in (name, f"{name}_until"):
                setattr(stays, part, getattr(goes, part))
            if name == "cleared":
                stays.cleared_by = goes.cleared_by
    goes.status = MemberStatus.LEFT
    goes.save()
    if _values(stays) != before:
        stays.save()
    return notes + _merge_parts(stays, goes)


def _merge_parts(stays: Member, goes: Member) -> list[str]:
    """Every part of both, once; the main part of the one who stays is the main one."""
    mine = {q.part_id: q for q in stays.qualifications.all()}
    main = next((q for q in mine.values() if q.main), None)
    notes = []
    for theirs in Qualification.objects.filter(member=goes).select_related("part"):
        if theirs.main and main is not None and main.part_id != theirs.part_id:
            notes.append(f"Two main parts: {main.part} stays the main one, {theirs.part} a double.")
        same = mine.get(theirs.part_id)
        if same is None:
            theirs.member, theirs.main = stays, theirs.main and main is None
            theirs.save()
            continue
        if theirs.own_instrument and not same.own_instrument:
            same.own_instrument = True
            same.save()
        theirs.delete()
    return notes


def differing(stays: models.Model, goes: models.Model, names: Iterable[str]) -> list[str]:
    """The fields of which both have a value, and not the same."""
    pairs = {name: (getattr(stays, name), getattr(goes, name)) for name in names}
    return [name for name, (one, other) in pairs.items() if one and other and _differ(one, other)]


def _differ(one: object, other: object) -> bool:
    return str(one).strip().casefold() != str(other).strip().casefold()


def _exchange(
    stays: models.Model, goes: models.Model, names: Iterable[str], chosen: Collection[str]
) -> list[str]:
    """Exchange values that are chosen, and give the one who stays what they lack; which."""
    exchanged = []
    for name in names:
        mine, theirs = getattr(stays, name), getattr(goes, name)
        if theirs and theirs != mine and (name in chosen or not mine):
            setattr(stays, name, theirs)
            if mine or name in ALONE:
                setattr(goes, name, mine)
            exchanged.append(name)
    return exchanged


def _stricter(one: Member, other: Member, name: str) -> bool:
    """True when the one says less than the other: no, then until the earlier day."""
    mine, theirs = Standing(getattr(one, name)), Standing(getattr(other, name))
    days = getattr(one, f"{name}_until"), getattr(other, f"{name}_until")
    if mine == theirs == Standing.UNTIL and None not in days:
        return bool(days[0] < days[1])
    return STRICTNESS.index(mine) < STRICTNESS.index(theirs)


def _values(row: models.Model) -> dict[str, Any]:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
