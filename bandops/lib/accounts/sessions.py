"""How long a sign-in lasts: shorter for whoever sees and writes what is others'."""

from __future__ import annotations

import datetime
import time
from typing import Any

from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.models import Session
from django.http import HttpRequest
from django.utils import timezone

BEGAN, SEEN, NOT_MINE = "began", "seen", "not_mine"
HOUR = 3600
GUARDED_IDLE, GUARDED_WHOLE = 12 * HOUR, 7 * 24 * HOUR
"""staff, equipment managers, evaluators: unused, and since the sign-in (seconds)"""
OTHERS_WHOLE = 30 * 24 * HOUR
FRESH = 30 * 60
NOTED_EVERY = 15 * 60
"""a session in use is written again no sooner"""


def begin(sender: Any, request: HttpRequest, **rest: Any) -> None:
    """Somebody signed in: the clock starts."""
    request.session[BEGAN] = request.session[SEEN] = int(time.time())


def still_runs(session: SessionBase, *, guarded: bool) -> bool:
    """Whether the sign-in still counts; notes that it is in use."""
    now = int(time.time())
    began = session.get(BEGAN)
    if began is None:  # from before this was kept
        session[BEGAN] = session[SEEN] = now
        return True
    seen = session.get(SEEN, began)
    if now - began > (GUARDED_WHOLE if guarded else OTHERS_WHOLE):
        return False
    if guarded and now - seen > GUARDED_IDLE:
        return False
    if now - seen > NOTED_EVERY:
        session[SEEN] = now
    return True


def is_fresh(session: SessionBase) -> bool:
    """Signed in so lately that it is the person and not a device left open."""
    return int(time.time()) - int(session.get(BEGAN, 0)) <= FRESH


def borrow(session: SessionBase) -> None:
    """On somebody else's device: it ends with the browser, and no page is kept there."""
    session[NOT_MINE] = True
    session.set_expiry(0)


def keeps_copies(request: HttpRequest) -> bool:
    """Whether the device may keep pages."""
    return not request.session.get(NOT_MINE, False)


def throw_away_old() -> int:
    """Remove sessions that have ended; how many."""
    now: datetime.datetime = timezone.now()
    return Session.objects.filter(expire_date__lt=now).delete()[0]
