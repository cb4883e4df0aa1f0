"""Invitations for many at once: who would get one, and sending them."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from django.conf import settings
from django.urls import reverse

from bandops.lib import mail
from bandops.lib.accounts.links import invitation_mail, send_invitation
from bandops.lib.accounts.models import User, clean_email
from bandops.lib.audit.recording import recorded
from roster.people.enums import MemberStatus
from roster.people.models import Member, Person, Season


@dataclass
class Guests:
    """Members by what an invitation would mean to them."""

    due: list[Member] = field(default_factory=list)
    """get one when it is sent"""
    invited: list[Member] = field(default_factory=list)
    """were invited and have not signed in; get another only when chosen by hand"""
    joined: list[Member] = field(default_factory=list)
    """have an account in use"""
    without_address: list[Member] = field(default_factory=list)
    taken: list[Member] = field(default_factory=list)
    """their address belongs to somebody else's account"""


def guests(season: Season, chosen: Collection[int] = ()) -> Guests:
    """Who would get an invitation: active members who had none, or those who are chosen (ids) and
    have not left. A fixed number of queries."""
    members = Member.objects.filter(season=season).select_related("person__user")
    if chosen:
        members = members.filter(pk__in=chosen).exclude(status=MemberStatus.LEFT)
    else:
        members = members.filter(status=MemberStatus.ACTIVE)
    owners = dict(
        Person.objects.filter(user__isnull=False).values_list("user__email", "pk").iterator()
    )
    found = Guests()
    for member in members:
        _sort(found, member, owners, by_hand=bool(chosen))
    return found


def _sort(found: Guests, member: Member, owners: dict[str, int], *, by_hand: bool) -> None:
    """Put the member where they belong; the first of two with one address has it."""
    person = member.person
    address = clean_email(person.user.email if person.user else person.email)
    if person.user is not None and person.user.joined_at is not None:
        found.joined.append(member)
    elif not address:
        found.without_address.append(member)
    elif owners.setdefault(address, person.pk) != person.pk:
        found.taken.append(member)
    elif person.user is not None and person.user.invited_at is not None and not by_hand:
        found.invited.append(member)
    else:
        found.due.append(member)


@dataclass(frozen=True)
class Invited:
    """How many a mail server took, and who is left since it failed, with what it said."""

    sent: int
    left: tuple[str, ...] = ()
    error: str = ""


def invite_members(*, actor: User, members: Iterable[Member], band: str) -> Invited:
    """Make accounts for members who have none and mail each an invitation; stops where the mail
    server fails. Refused where mail is not set up."""
    mail.refuse_unless_set_up()
    waiting, sent = list(members), 0
    for at, member in enumerate(waiting):
        try:
            send_invitation(account_of(actor, member.person), band)
        except OSError as error:
            return Invited(sent, tuple(m.name for m in waiting[at:]), str(error))
        sent += 1
    return Invited(sent)


def account_of(actor: User, person: Person) -> User:
    """The person's account, made when new."""
    if person.user is not None:
        return person.user
    with recorded(actor, "invite"):
        user = User.objects.filter(email=clean_email(person.email)).first()
        user = user or User.objects.create_user(person.email, person.name)
        person.user = user
        person.save()
    return user


def send_test_invitation(*, to: User, band: str) -> None:
    """The invitation as members read it, to oneself; its link leads to the sign-in page. Refused
    where mail is not set up; OSError when the server fails."""
    mail.refuse_unless_set_up()
    subject, text = invitation_mail(to, band, f"{settings.SITE_URL}{reverse('sign-in')}")
    mail.send(f"Test: {subject}", text, to.email)
