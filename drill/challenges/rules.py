"""Who may call a challenge off."""

from __future__ import annotations

import datetime

from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge
from roster.people.viewer import Viewer


def may_call_off(viewer: Viewer, challenge: Challenge, now: datetime.datetime) -> bool:
    """Staff any; challengers their own until it is held."""
    if viewer.is_staff:
        return True
    own = viewer.member is not None and challenge.challenger_id == viewer.member.pk
    return own and challenge.state == ChallengeState.ASKED and now < challenge.round.held_at
