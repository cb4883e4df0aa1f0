"""How often somebody may try a password or ask for a link, so that guessing is slow and nobody
is locked out by a stranger.

Counted apart: what comes from a device that has signed in to the account before, and what comes
from anywhere else. A stranger's failures slow strangers only. A network's address is shared by a
whole stadium: it is held up only by hundreds of failures, and never for links or known devices.
"""

from __future__ import annotations

import hashlib
import ipaddress
import logging
import time
from dataclasses import dataclass

from django.conf import settings
from django.core import signing
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse

from bandops.lib.accounts.models import User, clean_email

log = logging.getLogger(__name__)

KNOWN, SALT = "known", "bandops.known"
KNOWN_SECONDS = 365 * 24 * 3600
FREE_TRIES, LONGEST_WAIT = 5, 15 * 60
"""a wait begins with the fifth failure: 1, 2, 4 … seconds, at most a quarter of an hour"""
REMEMBERED = 24 * 3600
NETWORK_FAILURES, NETWORK_WINDOW = 300, 600
MOST_LINKS, LINK_WINDOW = 3, 600
"""a link works for longer than that: whoever asks in vain has one in their mail"""


@dataclass(frozen=True)
class Origin:
    """Where a try comes from: the network, and the account that the device has been used for."""

    network: str
    device: str


def origin_of(request: HttpRequest) -> Origin:
    """Of a request."""
    try:
        device = signing.loads(request.COOKIES.get(_cookie(), ""), salt=SALT, max_age=KNOWN_SECONDS)
    except signing.BadSignature:
        device = ""
    return Origin(network_of(address_of(request)), str(device))


def remember_device(request: HttpRequest, response: HttpResponse, user: User) -> None:
    """From now on the device is known for this account."""
    response.set_cookie(
        _cookie(),
        signing.dumps(_hashed(user.email), salt=SALT),
        max_age=KNOWN_SECONDS,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def _cookie() -> str:
    return f"{settings.COOKIE_PREFIX}{KNOWN}"


def address_of(request: HttpRequest) -> str:
    """The visitor's address: what the proxy in front says where there is one, else the sender's."""
    if settings.BEHIND_PROXY:
        # The proxy overwrites or appends: only the last one is its own word.
        return request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
    return str(request.META.get("REMOTE_ADDR", ""))


def network_of(address: str) -> str:
    """An IPv4 address, or the /64 that one IPv6 visitor has whole; empty where there is none."""
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return ""
    if isinstance(found, ipaddress.IPv6Address):
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(found)


def wait_seconds(email: str, origin: Origin) -> int:
    """How long no password is looked at for this address from there; 0 when one may be tried."""
    known = is_known(email, origin)
    failed = _count(f"network:{origin.network}") if origin.network and not known else 0
    if failed >= NETWORK_FAILURES:
        return NETWORK_WINDOW
    return max(0, _count(_key("until", email, known)) - int(time.time()))


def note_failure(email: str, origin: Origin) -> None:
    """Count one; from the fifth on the next has to wait."""
    known = is_known(email, origin)
    failures = _add(_key("failures", email, known), REMEMBERED)
    if failures >= FREE_TRIES:
        wait = min(2 ** (failures - FREE_TRIES), LONGEST_WAIT)
        _set(_key("until", email, known), int(time.time()) + wait, wait)
    if not known and origin.network:
        _add(f"network:{origin.network}", NETWORK_WINDOW)


def forget_failures(email: str) -> None:
    """Somebody has shown that the account is theirs."""
    try:
        cache.delete_many(
            [_key(what, email, known) for what in ("failures", "until") for known in (True, False)]
        )
    except Exception:
        log.warning("no cache: failures are not forgotten")


def asks_too_often(email: str, origin: Origin) -> bool:
    """True from the fourth link within ten minutes on: nobody's mailbox is flooded. A known
    device has an allowance of its own."""
    return _add(_key("links", email, is_known(email, origin)), LINK_WINDOW) > MOST_LINKS


def is_known(email: str, origin: Origin) -> bool:
    """Whether the device has signed in to this account before."""
    return bool(origin.device) and origin.device == _hashed(email)


def _hashed(email: str) -> str:
    return hashlib.sha256(clean_email(email).encode()).hexdigest()


def _key(what: str, email: str, known: bool) -> str:
    return f"{what}:{'known' if known else 'stranger'}:{_hashed(email)}"


# Without its cache the site still lets people in: passwords are then counted by nobody, and the
# proxy's own limit stands.
def _count(key: str) -> int:
    try:
        return int(cache.get(key, 0))
    except Exception:
        log.warning("no cache: tries are not counted")
        return 0


def _add(key: str, seconds: int) -> int:
    try:
        cache.add(key, 0, seconds)
        return int(cache.incr(key))
    except Exception:
        log.warning("no cache: tries are not counted")
        return 0


def _set(key: str, value: int, seconds: int) -> None:
    try:
        cache.set(key, value, seconds)
    except Exception:
        log.warning("no cache: tries are not counted")
