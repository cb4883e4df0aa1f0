"""Who may call a challenge off."""

from __future__ import annotations

import datetime

from drill.challenges.enums import ContestState
from drill.challenges.models import Contest
from roster.people.viewer import Viewer


def may_call_off(viewer: Viewer, contest: Contest, now: datetime.datetime) -> bool:
    """Staff any; challengers their own until it is held."""
    if viewer.is_staff:
        return True
    own = viewer.member is not None and contest.challenger_id == viewer.member.pk
    return own and contest.state == ContestState.ASKED and now < contest.round.held_at
