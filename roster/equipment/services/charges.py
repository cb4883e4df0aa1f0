"""What members owe."""

from __future__ import annotations

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.equipment.enums import ChargeState
from roster.equipment.models import Charge


def make_charge(*, actor: User, charge: Charge) -> Charge:
    """A member owes something."""
    with recorded(actor, "charge"):
        charge.full_clean()
        charge.save()
    return charge


def pay(*, actor: User, charge: Charge) -> Charge:
    """It is paid."""
    return _settle(actor, charge, ChargeState.PAID, "")


def waive(*, actor: User, charge: Charge, reason: str) -> Charge:
    """It need not be paid, for a reason."""
    if not reason.strip():
        raise Refused("Say why it is waived.")
    return _settle(actor, charge, ChargeState.WAIVED, reason.strip())


def _settle(actor: User, charge: Charge, state: ChargeState, reason: str) -> Charge:
    with recorded(actor, "settle charge"):
        charge = Charge.objects.select_for_update().get(pk=charge.pk)
        if charge.state != ChargeState.OWED:
            raise Refused(f"It is {charge.get_state_display()} already.")
        charge.state, charge.settled_at, charge.waived_for = state, timezone.now(), reason
        charge.full_clean()
        charge.save()
    return charge
