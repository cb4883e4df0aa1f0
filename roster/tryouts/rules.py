"""Who may do what in a tryout."""

from __future__ import annotations

from roster.people.viewer import Viewer
from roster.tryouts.enums import TryoutState
from roster.tryouts.models import Candidate, Panelist, Tryout


def panelist_of(viewer: Viewer, tryout: Tryout) -> Panelist | None:
    """The evaluator that the account is in the tryout, if any: only their own marks are theirs."""
    if viewer.user is None or not (viewer.is_evaluator or viewer.is_staff):
        return None
    return Panelist.objects.filter(tryout=tryout, user=viewer.user).first()


def evaluates_now(viewer: Viewer) -> bool:
    """An evaluator of a tryout that takes marks."""
    return Panelist.objects.filter(
        user=viewer.user, tryout__season=viewer.season, tryout__state=TryoutState.JUDGING
    ).exists()


def is_candidate(viewer: Viewer) -> bool:
    """Somebody who tries out in the season and has no part in it yet: members and staff find their
    result by its link."""
    if viewer.user is None or viewer.season is None or viewer.belongs:
        return False
    return Candidate.objects.filter(tryout__season=viewer.season, person__user=viewer.user).exists()


def may_open_key(viewer: Viewer, tryout: Tryout) -> bool:
    """Whose number is whose: staff who do not evaluate, everybody on the staff once it is
    decided, and the director always."""
    if not viewer.is_staff:
        return False
    if viewer.is_director or tryout.state == TryoutState.DECIDED:
        return True
    return panelist_of(viewer, tryout) is None
