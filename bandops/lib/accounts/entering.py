"""Coming in by password, and what is noted of it."""

from __future__ import annotations

import hashlib
import hmac
import logging

from django.conf import settings
from django.db.models import F
from django.utils import timezone

from bandops.lib.accounts import tries
from bandops.lib.accounts.models import User, clean_email
from bandops.lib.accounts.passwords import normal
from bandops.lib.accounts.tries import Origin
from bandops.lib.audit.recording import recorded

MAX_FAILURES = 100
"""one after another from unknown devices; then only a link helps (NIST SP 800-63B-4, 3.2.2)"""

log = logging.getLogger("bandops.security")


class HeldUp(Exception):
    """Too many tries: nothing is looked at for so many ``seconds``."""

    def __init__(self, seconds: int) -> None:
        super().__init__(seconds)
        self.seconds = seconds


def check_password(email: str, password: str, origin: Origin) -> User | None:
    """The account whose password this is. HeldUp after failures, alike for an address that has no
    account; each check takes as long as any other."""
    if seconds := tries.wait_seconds(email, origin):
        note("held up", email, origin)
        raise HeldUp(seconds)
    user = User.objects.filter(email=clean_email(email), is_active=True).first()
    is_right = _is_right(user, normal(password))
    known = origin.device != "" and tries.is_known(email, origin)
    if user is None or not is_right or (user.failed_sign_ins >= MAX_FAILURES and not known):
        tries.note_failure(email, origin)
        note("wrong password", email, origin)
        if user is not None and not known and not settings.READ_ONLY:
            _count(user)
        return None
    return user


def _is_right(user: User | None, password: str) -> bool:
    if user is None:
        User().set_password(password)  # takes as long as a real check
        return False
    return user.check_password(password)


def _count(user: User) -> None:
    """One more failure, however many come at once."""
    with recorded(None, "fail to sign in"):
        below = User.objects.filter(pk=user.pk, failed_sign_ins__lt=MAX_FAILURES)
        below.update(failed_sign_ins=F("failed_sign_ins") + 1)


def note_sign_in(user: User, origin: Origin, way: str) -> None:
    """The account was used; ``way`` is how, for the security log."""
    tries.forget_failures(user.email)
    note(f"signed in by {way}", user.email, origin)
    if settings.READ_ONLY:
        return
    with recorded(user, "sign in"):
        user.failed_sign_ins = 0
        user.joined_at = user.joined_at or timezone.now()
        user.save(update_fields=["failed_sign_ins", "joined_at"])


def note(event: str, email: str, origin: Origin) -> None:
    """A line of the security log: who by a code that only this site can make again, from where."""
    made = hmac.new(settings.SECRET_KEY.encode(), clean_email(email).encode(), hashlib.sha256)
    log.info("%s: account %s from %s", event, made.hexdigest()[:16], origin.network or "unknown")
