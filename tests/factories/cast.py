"""One account for each role, and one without any."""

from __future__ import annotations

from dataclasses import dataclass

from bandops.lib.accounts.models import User
from roster.people.enums import Role
from roster.people.models import Member, RoleGrant
from tests.factories.band import Band


@dataclass(frozen=True)
class Cast:
    """Accounts by role. ``leader`` leads rank 1 (Ana), ``member`` is Cai of rank 1, ``other`` is
    Hal of rank 2."""

    director: User
    staff: User
    equipment: User
    evaluator: User
    leader: User
    member: User
    other: User
    outsider: User

    def named(self, role: str) -> User | None:
        """The account of a role; None for a visitor."""
        return None if role == "visitor" else getattr(self, role)


def make_cast(band: Band) -> Cast:
    """All accounts."""

    def granted(name: str, role: Role) -> User:
        user = User.objects.create_user(f"{name}@staff.example", name.title())
        RoleGrant.objects.create(user=user, season=band.season, role=role)
        return user

    return Cast(
        director=granted("director", Role.DIRECTOR),
        staff=granted("staff", Role.STAFF),
        equipment=granted("equipment", Role.EQUIPMENT_MANAGER),
        evaluator=granted("evaluator", Role.EVALUATOR),
        leader=account_of(band.members["Ana Núñez"]),
        member=account_of(band.members["Cai Ørnberg"]),
        other=account_of(band.members["Hal Brook"]),
        outsider=User.objects.create_user("outsider@else.example", "Outsider"),
    )


def account_of(member: Member) -> User:
    """The member's account, made when new."""
    person = member.person
    person.user = User.objects.create_user(person.email, person.name)
    person.save()
    return person.user
