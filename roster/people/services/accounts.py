"""Accounts in others' hands: a wrong address, a lost phone, somebody who is no longer wanted."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from bandops.lib import mail
from bandops.lib.accounts import tries
from bandops.lib.accounts.models import User, clean_email
from bandops.lib.api.tokens import revoke_all
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import Role
from roster.people.models import RoleGrant
from roster.people.queries import going_on
from roster.people.ties import ACCOUNT_SHUT


def sign_out_everywhere(*, actor: User, user: User) -> None:
    """No session of the account goes on, and its calendar address is switched off."""
    with recorded(actor, "sign out everywhere"), _changing(user) as row:
        shut_out(row)


def change_address(*, actor: User, user: User, email: str) -> None:
    """The account is signed in to by another address; what went to the old one is void, and it is
    told. Refused for the address of another account."""
    address, old = clean_email(email), user.email
    with recorded(actor, "change sign-in address"), _changing(user) as row:
        if User.objects.filter(email=address).exclude(pk=user.pk).exists():
            raise Refused("Another account has this address.")
        row.email = address
        row.set_unusable_password()  # whoever had the old address may have set it
        row.joined_at = row.invited_at = None
        row.full_clean(exclude=["password"])
        shut_out(row)
    tries.forget_failures(address)
    tell(old, "The sign-in address of an account was changed", "This one no longer signs in.")


def close_account(*, actor: User, user: User) -> None:
    """Nobody signs in to it any more. Refused for one's own, and for the last director's."""
    if user == actor:
        raise Refused("This is your own account: another director closes it.")
    with recorded(actor, "close account"), _changing(user) as row:
        if is_last_director(row):
            raise Refused("A season needs a director: name another one first.")
        row.is_active = False
        shut_out(row)


def open_account(*, actor: User, user: User) -> None:
    """It may be signed in to again."""
    with recorded(actor, "open account"), _changing(user) as row:
        row.is_active = True


def tell(address: str, subject: str, text: str) -> None:
    """Tell whoever has the address what was done; without a mail server nobody can be told."""
    if not mail.leaves():
        return
    said = f"{text}\n\nIf you did not expect this, talk to your band's director at once."
    try:
        mail.send(subject, said, address)
    except OSError:
        return


@contextmanager
def _changing(user: User) -> Iterator[User]:
    row = User.objects.select_for_update().get(pk=user.pk)
    yield row
    row.save()


def shut_out(row: User) -> None:
    """Inside an action, before the row is saved: sign-ins, tokens and addresses of it end."""
    row.session_round += 1
    revoke_all(row)
    ACCOUNT_SHUT.ask(row)


def is_last_director(user: User) -> bool:
    """Whether nobody else directs the current season, or one that has not ended."""
    grants = RoleGrant.objects.filter(season__in=going_on(), role=Role.DIRECTOR)
    others = grants.filter(user__is_active=True).exclude(user=user)
    mine = grants.filter(user=user).exclude(season__in=others.values("season"))
    return mine.exists()
