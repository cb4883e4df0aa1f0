"""Making, checking and revoking tokens."""

from __future__ import annotations

import datetime
import hashlib
import secrets
from collections.abc import Iterable

from django.conf import settings
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.api.models import ApiToken
from bandops.lib.audit.recording import recorded

START = "bo_"
"""so that a token that was leaked is recognised as one"""
LONGEST_DAYS = 366
USED_EVERY = datetime.timedelta(minutes=10)
SCOPES = {
    "people:read": "members, instruments and parts",
    "people:write": "change members' contacts",
    "ranks:read": "ranks, spots, who holds them, alternates",
    "events:read": "events and their segments",
    "events:write": "add and change events",
    "lineups:read": "published lineups and backups",
    "lineups:solve": "solve a posted problem",
    "absences:read": "who is out, never why",
    "absences:write": "report and withdraw absences",
    "drill:read": "shows, sets and coordinates",
    "record:read": "who really marched",
    "rehearsals:read": "rehearsals' blocks, and who was there",
    "rehearsals:write": "note who is there",
    "challenges:read": "rounds and challenges, without marks",
    "travel:read": "travel lists",
    "tryouts:read": "tryouts, and who was selected once it is posted",
    "equipment:read": "kinds, items and who has them",
    "equipment:write": "hand out and take back",
}


def make_token(*, actor: User, name: str, scopes: Iterable[str], days: int) -> tuple[ApiToken, str]:
    """A new token and its text, which is shown this once."""
    text = START + secrets.token_urlsafe(32)
    expires = timezone.now() + datetime.timedelta(days=min(days, LONGEST_DAYS))
    with recorded(actor, "make API token"):
        made = ApiToken(
            user=actor,
            name=name,
            digest=_digest(text),
            scopes=sorted(set(scopes) & set(SCOPES)),
            expires_at=expires,
        )
        made.full_clean()
        made.save()
    return made, text


def revoke_token(*, actor: User, token: ApiToken) -> None:
    """It opens nothing any more."""
    with recorded(actor, "revoke API token"):
        ApiToken.objects.filter(pk=token.pk, revoked_at=None).update(revoked_at=timezone.now())


def revoke_all(user: User) -> None:
    """Inside an action: no token of the account goes on."""
    ApiToken.objects.filter(user=user, revoked_at=None).update(revoked_at=timezone.now())


def token_of(text: str) -> ApiToken | None:
    """The token whose text this is, while it is good; notes now and then that it is used."""
    now = timezone.now()
    good = ApiToken.objects.filter(revoked_at=None, expires_at__gt=now, user__is_active=True)
    found = good.select_related("user").filter(digest=_digest(text)).first()
    if settings.READ_ONLY or found is None:
        return found
    if found.used_at is None or now - found.used_at > USED_EVERY:
        ApiToken.objects.filter(pk=found.pk).update(used_at=now)
    return found


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
