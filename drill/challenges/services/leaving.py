"""Challenges of members who stop."""

from __future__ import annotations

from django.db.models import Q

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge
from drill.challenges.services.challenges import call_off
from drill.challenges.services.deciding import take_back
from roster.people.models import Member


def drop_challenges(*, actor: User, members: list[Member]) -> list[str]:
    """Call off what the members asked for or were asked for and is not in effect; each in a
    sentence. A win that waits is taken back first, so that its rivals are decided anew."""
    mine = Challenge.objects.filter(
        Q(challenger__in=members, state=ChallengeState.WON)
        | Q(challenger__in=members, state=ChallengeState.ASKED)
        | Q(holder__in=members, state=ChallengeState.ASKED),
        applied_at__isnull=True,
    )
    said = []
    with recorded(actor, "call off challenges"):
        for challenge in mine.select_related("round", "spot__rank", "challenger__person"):
            if challenge.state == ChallengeState.WON:
                take_back(actor=actor, challenge=challenge)
            call_off(actor=actor, challenge=challenge)
            said.append(f"The challenge of {challenge} in {challenge.round} is called off.")
    return said
