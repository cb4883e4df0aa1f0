"""Persons and members."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import MemberStatus
from roster.people.models import Member, Part, Person, Qualification, Season
from roster.people.services.alike import alike_to
from roster.people.ties import follow, needs_of


@dataclass(frozen=True)
class Skill:
    """A qualification to be set: the part, and whether the instrument is their own."""

    part: Part
    own_instrument: bool = False


def add_member(
    *,
    actor: User,
    season: Season,
    person: Person,
    values: dict[str, Any],
    main: Skill,
    doubles: Iterable[Skill] = (),
    namesake_is_meant: bool = False,
) -> Member:
    """A person joins the season, at its start or in the middle of it; one who may be there
    already only when another person is meant."""
    with recorded(actor, "add member"):
        person.derive()
        if not namesake_is_meant:
            _refuse_twice(person, values.get("phone", ""))
        person.full_clean()
        person.save()
        member = Member(person=person, season=season, **values)
        member.full_clean()
        member.save()
        set_qualifications(actor=actor, member=member, main=main, doubles=doubles)
    return member


def _refuse_twice(person: Person, phone: str) -> None:
    known = alike_to(person, phone)
    if not known:
        return
    raise Refused(
        "This may be somebody already here. If not, check “A different person of the same name” "
        "below.",
        tuple(f"{other}: {', '.join(shared)}." for other, shared in known),
    )


MAY_MARCH = ("status", "cleared", "cleared_until", "eligible", "eligible_until")
"""what says whether a member may march"""


def change_member(
    *, actor: User, member: Member, person_values: dict[str, Any], values: dict[str, Any]
) -> list[str]:
    """Change what is recorded of a member and their person; what followed, in sentences."""
    with recorded(actor, "change member"):
        member = (
            Member.objects.select_for_update(of=("self",))
            .select_related("person__user")
            .get(pk=member.pk)
        )
        for name, value in person_values.items():
            setattr(member.person, name, value)
        member.person.derive()
        member.person.full_clean()
        member.person.save()
        if member.person.user is not None and member.person.user.name != member.person.name:
            member.person.user.name = member.person.name
            member.person.user.save(update_fields=["name"])
        before = may_march_facts(member)
        for name, value in values.items():
            setattr(member, name, value)
        member.full_clean()
        member.save()
        changed = may_march_facts(member) != before
        return follow(actor, member.season, [member.pk]) if changed else []


def save_member(
    *,
    actor: User,
    member: Member,
    person_values: dict[str, Any],
    values: dict[str, Any],
    main: Skill,
    doubles: Iterable[Skill],
) -> list[str]:
    """Change all that a member's form has, wholly or not at all; what followed, in sentences."""
    with recorded(actor, "change member"):
        followed = change_member(
            actor=actor, member=member, person_values=person_values, values=values
        )
        return followed + set_qualifications(actor=actor, member=member, main=main, doubles=doubles)


def may_march_facts(member: Member) -> tuple[Any, ...]:
    """What is recorded about whether the member may march."""
    return tuple(getattr(member, name) for name in MAY_MARCH)


def set_qualifications(
    *, actor: User, member: Member, main: Skill, doubles: Iterable[Skill]
) -> list[str]:
    """Replace a member's parts; there is always a main one. What followed, in sentences."""
    with recorded(actor, "change parts"):
        lost = write_qualifications(member=member, main=main, doubles=doubles)
        return follow(actor, member.season, [member.pk]) if lost else []


def write_qualifications(*, member: Member, main: Skill, doubles: Iterable[Skill]) -> bool:
    """The rows alone, inside an action; True when a part was lost, which has to be followed."""
    wanted = {main.part.pk: (main, True)}
    for skill in doubles:
        wanted.setdefault(skill.part.pk, (skill, False))
    Member.objects.select_for_update().get(pk=member.pk)
    _refuse_needed(member, set(wanted))
    existing = {q.part_id: q for q in member.qualifications.all()}
    lost, _ = member.qualifications.exclude(part_id__in=wanted).delete()
    # Only one main part at a time: the old one steps down before the new one steps up.
    for part_id, (skill, is_main) in sorted(wanted.items(), key=lambda item: item[1][1]):
        now = existing.get(part_id)
        if now is None:
            Qualification.objects.create(
                member=member,
                part=skill.part,
                main=is_main,
                own_instrument=skill.own_instrument,
            )
        elif (now.main, now.own_instrument) != (is_main, skill.own_instrument):
            now.main, now.own_instrument = is_main, skill.own_instrument
            now.save()
    return bool(lost)


def _refuse_needed(member: Member, kept: set[int]) -> None:
    """A spot or an alternate's place needs its part played as long as the member has it."""
    for need in needs_of(Member.objects.filter(pk=member.pk)):
        if need.part.pk not in kept:
            raise Refused(f"{member} {need.refusal}.")


def set_status(
    *, actor: User, season: Season, members: Iterable[Member], status: MemberStatus
) -> list[str]:
    """On leave, or back; leaving for good goes through the release, which ends their places. What
    followed, in sentences."""
    ids = [member.pk for member in members]
    with recorded(actor, "change status"):
        locked = Member.objects.select_for_update().filter(pk__in=ids, season=season)
        for member in locked.order_by("pk"):
            if status == MemberStatus.ACTIVE and not member.qualifications.exists():
                raise Refused("An active member needs a main part first.")
            member.status = status
            member.save()
        return [] if status == MemberStatus.ACTIVE else follow(actor, season, ids)


def update_own_details(*, actor: User, member: Member, values: dict[str, Any]) -> None:
    """What members may change of themselves: how to be called and reached."""
    person_fields = {"used_name", "pronunciation", "pronouns", "listed", "share_contact"}
    change_member(
        actor=actor,
        member=member,
        person_values={k: v for k, v in values.items() if k in person_fields},
        values={k: v for k, v in values.items() if k in {"phone", "emergency_contact"}},
    )
