"""Changes after the cut-off: the director's, each with its reason."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from drill.lineup.models import Lineup
from drill.lineup.rules import past_cut_off


def sign_override(actor: User, lineup: Lineup, reason: str) -> None:
    """Write on a revision why it came after the cut-off, and whose word it was; Refused where
    that is not said. Before the cut-off there is nothing to write."""
    if not past_cut_off(lineup.event):
        return
    reason = reason.strip()
    if not reason:
        raise Refused("The cut-off has passed: say why this changes now.")
    lineup.override_reason, lineup.override_for = reason, actor.acting_for
