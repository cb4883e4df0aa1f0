"""The private note as a mail."""

from __future__ import annotations

from typing import Any

from bandops.lib import mail
from bandops.lib.outbox.registry import Store, handles
from roster.tryouts.models import Offer
from roster.tryouts.services import results
from roster.tryouts.services.deciding import current


@handles("tryouts.note")
def send_note(payload: dict[str, Any]) -> Store:
    """Mail a candidate what they are offered, if that is still what counts."""
    rows = Offer.objects.select_related(
        "decision__tryout__season", "candidate__person__user", "part"
    )
    offer = rows.filter(pk=payload["offer"], told_at=None).first()
    newest = current(offer.decision.tryout) if offer is not None else None
    if offer is None or newest is None or newest.pk != offer.decision_id:
        return lambda: None
    subject, text = results.note_mail(offer)
    if not mail.send(subject, text, offer.candidate.person.email):
        return lambda: None
    return lambda: results.note_told(payload["offer"])
