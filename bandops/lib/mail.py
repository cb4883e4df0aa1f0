"""Mail that leaves, and whether any can."""

from __future__ import annotations

from django.conf import settings
from django.core.mail import send_mail

from bandops.lib.audit.recording import something_leaves
from bandops.lib.errors import Refused

NOT_SET_UP = "Email is not set up: print the slips or tell them."
PRACTISING = "This is a practice band: nobody is told anything."
STAYS_HERE = ("console", "dummy", "filebased")
"""backends that keep mails where the site runs"""


def leaves() -> bool:
    """True when mail is set up: what is sent goes to a mail server."""
    kind = settings.EMAIL_BACKEND.rsplit(".", 2)[-2]
    return kind not in STAYS_HERE and bool(settings.EMAIL_HOST)


def send(subject: str, text: str, address: str) -> bool:
    """Send a mail; True when a mail server took it, False where mail is not set up (a console
    still shows it). OSError when the server fails or takes nothing."""
    something_leaves()
    taken = send_mail(subject, text, None, [address])
    if not leaves():
        return False
    if not taken:
        raise OSError("the mail server did not take it")
    return True


def why_none() -> str:
    """Why nothing leaves, and what staff do instead."""
    return PRACTISING if settings.PRACTICE else NOT_SET_UP


def refuse_unless_set_up() -> None:
    """Refused where nothing can leave."""
    if not leaves():
        unset = "Email is not set up on this site, so nothing was sent."
        raise Refused(PRACTISING if settings.PRACTICE else unset)
