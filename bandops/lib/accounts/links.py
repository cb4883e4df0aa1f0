"""One-time links by mail: to sign in, and to accept an invitation."""

from __future__ import annotations

import hashlib

from django.conf import settings
from django.core.cache import cache
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from sesame.utils import get_token, get_user

from bandops.lib import mail
from bandops.lib.accounts.models import User, clean_email
from bandops.lib.audit.recording import recorded

SIGN_IN, INVITATION = "sign-in", "invitation"
MAX_FAILURES = 20
MOST_LINKS, LINK_WINDOW = 5, 3600


def link_for(user: User, scope: str) -> str:
    """The full address of a link that signs the account in once."""
    token = get_token(user, scope=scope)
    return f"{settings.SITE_URL}{reverse('link', args=[scope, token])}"


def user_of(token: str, scope: str) -> User | None:
    """The account of a link that is still good; asking uses it up."""
    max_age = settings.INVITATION_MAX_AGE if scope == INVITATION else settings.SESAME_MAX_AGE
    user: User | None = get_user(token, scope=scope, max_age=max_age)
    return user


def send_sign_in_link(email: str) -> None:
    """Mail a link if the address has an account; nobody learns whether it has."""
    address = clean_email(email)
    user = User.objects.filter(email=address, is_active=True).first()
    if user is None or _asked_too_often(address):
        return
    context = {"link": link_for(user, SIGN_IN), "minutes": link_minutes(), "user": user}
    text = render_to_string("accounts/mail/sign_in.txt", context)
    mail.send("Your sign-in link", text, user.email)


def _asked_too_often(address: str) -> bool:
    """True from the sixth link within an hour on: nobody's mailbox is flooded."""
    key = "links:" + hashlib.sha256(address.encode()).hexdigest()
    cache.add(key, 0, LINK_WINDOW)
    return cache.incr(key) > MOST_LINKS


def send_invitation(user: User, band: str) -> bool:
    """Mail an invitation and note when; False, and nothing noted, where no mail leaves. OSError
    when the mail server fails."""
    left = mail.send(*invitation_mail(user, band, link_for(user, INVITATION)), user.email)
    if left:
        User.objects.filter(pk=user.pk).update(invited_at=timezone.now())
    return left


def invitation_mail(user: User, band: str, link: str) -> tuple[str, str]:
    """Subject and text of an invitation."""
    days = str(settings.INVITATION_MAX_AGE.days)
    context = {"link": link, "band": band, "user": user, "days": days}
    return f"{band}: your invitation", render_to_string("accounts/mail/invitation.txt", context)


def check_password(email: str, password: str) -> User | None:
    """The account whose password this is; after too many failures only a link helps."""
    user = User.objects.filter(email=clean_email(email), is_active=True).first()
    if user is None:
        User().set_password(password)  # takes as long as a real check
        return None
    if user.failed_sign_ins >= MAX_FAILURES or not user.check_password(password):
        with recorded(user, "fail to sign in"):
            User.objects.filter(pk=user.pk).update(failed_sign_ins=user.failed_sign_ins + 1)
        return None
    return user


def note_sign_in(user: User) -> None:
    """The account was used."""
    with recorded(user, "sign in"):
        user.failed_sign_ins = 0
        user.joined_at = user.joined_at or timezone.now()
        user.save(update_fields=["failed_sign_ins", "joined_at"])


def link_minutes() -> int:
    """How long a sign-in link works."""
    return int(settings.SESAME_MAX_AGE.total_seconds() // 60)
