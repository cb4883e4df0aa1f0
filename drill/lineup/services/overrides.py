"""Changes after the cut-off: the director's, each with its reason."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from drill.events.models import Event
from drill.lineup.models import Lineup
from drill.lineup.rules import past_cut_off


def refuse_unexplained(event: Event, reason: str) -> None:
    """Refused after the cut-off without a reason."""
    if past_cut_off(event) and not reason.strip():
        raise Refused("The cut-off has passed: say why this changes now.")


def sign_override(actor: User, lineup: Lineup, reason: str) -> None:
    """Write on a revision why it came after the cut-off, and whose word it was; Refused where
    that is not said. Before the cut-off there is nothing to write."""
    refuse_unexplained(lineup.event, reason)
    if past_cut_off(lineup.event):
        lineup.override_reason, lineup.override_for = reason.strip(), actor.acting_for
