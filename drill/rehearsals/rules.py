"""Who may note what at a rehearsal."""

from __future__ import annotations

from drill.rehearsals.models import PracticeEntry
from roster.people.viewer import Viewer
from roster.ranks.models import Rank


def leads_rehearsals(viewer: Viewer) -> bool:
    """Attendance, practice log, rehearsal call: staff, leaders and assistant leaders."""
    return viewer.is_staff or viewer.is_rank_leader


def may_note(viewer: Viewer, rank_id: int | None) -> bool:
    """Who is here, who worked on what: staff everybody, leaders and assistant leaders their own
    rank."""
    return viewer.is_staff or viewer.leads(rank_id)


def may_settle(viewer: Viewer, rank: Rank | None) -> bool:
    """Where notes differ: staff, or the rank's leader (not the assistant leader)."""
    if viewer.is_staff:
        return True
    return rank is not None and viewer.member is not None and rank.leader_id == viewer.member.pk


def may_take_back(viewer: Viewer, entry: PracticeEntry) -> bool:
    """An entry of the practice log: staff any, others what they wrote themselves."""
    return viewer.is_staff or entry.noted_by_id == viewer.signed_in.pk
