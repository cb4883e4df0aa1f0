"""The guard around what a request does: once, and over nothing that its page did not show."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext

from django.http import HttpRequest
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from bandops.lib.accounts.models import User
from bandops.lib.audit.clock import audit_now
from bandops.lib.audit.recording import Writing, guarded
from bandops.lib.dates import in_reach
from bandops.lib.errors import Overtaken
from bandops.lib.sent.meanwhile import LATE, refuse_overwriting
from bandops.lib.sent.once import Claim, claim_of

Opened = datetime.datetime | None
AS_OF = "as_of"
"""the field in which a form says when its page was read"""


class Guarding:
    """What is asked of each action of one request."""

    def __init__(self, request: HttpRequest, claim: Claim | None, opened: Opened) -> None:
        self.request, self.claim, self.opened = request, claim, opened

    def doing(self) -> AbstractContextManager[None]:
        """Around the view."""
        if self.claim is None and self.opened is None:
            return nullcontext()
        return guarded(self._around)

    def refuse_second(self) -> None:
        """SentTwice for a form that was done before: what it was about may be gone by then."""
        if self.claim is not None:
            self.claim.refuse_second()

    @contextmanager
    def _around(self, writing: Writing) -> Iterator[None]:
        taken = self.claim if self.claim is not None and not self.claim.is_written else None
        try:
            if taken is not None:
                taken.write()
            yield
            if self.opened is not None:
                self._refuse_overwriting(writing.batch, self.opened)
        except BaseException:
            if taken is not None:
                taken.is_written = False  # it goes with the transaction
            raise

    def _refuse_overwriting(self, batch: str, opened: datetime.datetime) -> None:
        now = audit_now()
        try:
            refuse_overwriting(batch, opened)
        except Overtaken:
            # The page that says so has shown all until now: it is not said again.
            self.request.read_at = now + LATE  # type: ignore[attr-defined]
            raise

    def answered(self, where: str | None, *, was_refused: bool = False) -> None:
        """``where`` is the page to go on to, None where the answer is itself what was wanted. What
        was refused and wrote nothing may be sent again."""
        if self.claim is None or (was_refused and not self.claim.is_written):
            return
        if where is None and self.claim.is_written:
            self.claim.give_back()
        elif where:
            self.claim.led_to(where)


def guarding(request: HttpRequest, account: User | None, *, waits: bool) -> Guarding:
    """The guard of a request. What may wait on a phone (``waits``) has keys and rules of its
    own: it is older than its page's last copy, and says so."""
    if request.method != "POST" or account is None or waits:
        return Guarding(request, None, None)
    return Guarding(request, claim_of(request, account.pk), _opened(request.POST.get(AS_OF, "")))


def _opened(text: str) -> Opened:
    """When the page was read; None for a page that does not say so, or nonsense."""
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None
    if moment is None or timezone.is_naive(moment) or not in_reach(moment):
        return None
    return moment
