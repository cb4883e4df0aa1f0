"""Invitations for many at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bandops.lib.accounts.links import send_invitation
from bandops.lib.accounts.models import User, clean_email
from bandops.lib.audit.recording import recorded
from roster.people.models import Member, Person


@dataclass(frozen=True)
class Invited:
    """How many were mailed, and who could not be."""

    sent: int
    without_address: tuple[str, ...]
    taken: tuple[str, ...]


def invite_members(*, actor: User, members: Iterable[Member], band: str) -> Invited:
    """Make accounts for members who have none and mail each an invitation."""
    sent, without, taken = 0, [], []
    for member in members:
        person = member.person
        if not person.email:
            without.append(member.name)
            continue
        user = _account(actor, person)
        if user is None:
            taken.append(member.name)
            continue
        send_invitation(user, band)
        sent += 1
    return Invited(sent, tuple(without), tuple(taken))


def _account(actor: User, person: Person) -> User | None:
    """The person's account, made when new; None when the address is somebody else's."""
    if person.user is not None:
        return person.user
    with recorded(actor, "invite"):
        user = User.objects.filter(email=clean_email(person.email)).first()
        if user is not None and Person.objects.filter(user=user).exists():
            return None
        user = user or User.objects.create_user(person.email, person.name)
        person.user = user
        person.save()
    return user
