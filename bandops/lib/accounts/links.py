"""One-time links by mail: to sign in, and to accept an invitation."""

from __future__ import annotations

import uuid

from django.conf import settings
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from sesame.utils import get_token, get_user

from bandops.lib import mail
from bandops.lib.accounts import entering, tries
from bandops.lib.accounts.models import User, clean_email
from bandops.lib.accounts.tries import Origin
from bandops.lib.outbox.dispatch import add_job

SIGN_IN, INVITATION = "sign-in", "invitation"


def link_for(user: User, scope: str) -> str:
    """The full address of a link that signs the account in once."""
    token = get_token(user, scope=scope)
    return f"{settings.SITE_URL}{reverse('link', args=[scope, token])}"


def user_of(token: str, scope: str) -> User | None:
    """The account of a link that is still good; asking uses it up."""
    max_age = settings.INVITATION_MAX_AGE if scope == INVITATION else settings.SESAME_MAX_AGE
    user: User | None = get_user(token, scope=scope, max_age=max_age)
    return user


def ask_for_link(email: str, origin: Origin) -> None:
    """Have a link mailed if the address has an account; nobody learns whether it has: a job is
    written either way, and the mail server is asked later."""
    entering.note("link asked for", email, origin)
    if tries.asks_too_often(email, origin):
        return
    user = User.objects.filter(email=clean_email(email), is_active=True).first()
    with transaction.atomic():
        payload = {"user": user.pk if user else None}
        add_job(key=f"link:{uuid.uuid4()}", kind="accounts.link", group="", payload=payload)


def mail_link(user_id: int | None) -> None:
    """Mail an account its link. Without mail a demo shows it, a site keeps it to itself."""
    if user_id is None:
        return
    user = User.objects.filter(pk=user_id, is_active=True).first()
    if user is None or not (mail.leaves() or settings.MAIL_IS_SHOWN):
        return
    context = {"link": link_for(user, SIGN_IN), "minutes": link_minutes(), "user": user}
    mail.send(
        "Your sign-in link", render_to_string("accounts/mail/sign_in.txt", context), user.email
    )


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


def link_minutes() -> int:
    """How long a sign-in link works."""
    return int(settings.SESAME_MAX_AGE.total_seconds() // 60)
