"""Who may do what with events, absences and lineups; pages and API ask the same functions."""

from __future__ import annotations

import datetime

from django.utils import timezone

from drill.enums import ContestState
from drill.models import Absence, Contest, Event, PracticeEntry
from roster.models import AlternatePlace, Member, Rank
from roster.viewer import Viewer


def may_withdraw(viewer: Viewer, absence: Absence) -> bool:
    """Staff any; others what they reported themselves, as long as staff have not decided."""
    if viewer.is_staff:
        return True
    return absence.reported_by_id == viewer.signed_in.pk and absence.state == "reported"


def may_call_off(viewer: Viewer, contest: Contest, now: datetime.datetime) -> bool:
    """Staff any; challengers their own until it is held."""
    if viewer.is_staff:
        return True
    own = viewer.member is not None and contest.challenger_id == viewer.member.pk
    return own and contest.state == ContestState.ASKED and now < contest.round.held_at


def reads_lineups(viewer: Viewer) -> bool:
    """Published lineups: staff, gear managers and members; evaluators know numbers only."""
    return viewer.is_staff or viewer.is_gear_manager or viewer.is_member


def past_cut_off(event: Event, now: datetime.datetime | None = None) -> bool:
    """True when only the director changes the event's lineup."""
    return event.cut_off is not None and (now or timezone.now()) > event.cut_off


def may_edit_lineup(viewer: Viewer, event: Event) -> bool:
    """Staff until the cut-off, the director always."""
    return viewer.is_director or (viewer.is_staff and not past_cut_off(event))


def leads_member(viewer: Viewer, member: Member) -> bool:
    """A leader or second of the rank where the member holds a spot or is an alternate."""
    ids = {rank.pk for rank in viewer.ranks_led}
    if not ids:
        return False
    here = member.holdings.filter(ends__isnull=True, spot__rank__in=ids).exists()
    return here or AlternatePlace.objects.filter(member=member, rank__in=ids).exists()


def may_see_slip(viewer: Viewer, member: Member) -> bool:
    """Staff, the member, and the leader of their rank."""
    return viewer.is_staff or viewer.member == member or leads_member(viewer, member)


def leads_rehearsals(viewer: Viewer) -> bool:
    """Attendance, practice log, rehearsal call: staff, leaders and seconds."""
    return viewer.is_staff or viewer.is_rank_leader


def may_note(viewer: Viewer, rank_id: int | None) -> bool:
    """Who is here, who worked on what: staff everybody, leaders and seconds their own rank."""
    return viewer.is_staff or viewer.leads(rank_id)


def may_settle(viewer: Viewer, rank: Rank | None) -> bool:
    """Where notes differ: staff, or the rank's leader (not the second)."""
    if viewer.is_staff:
        return True
    return rank is not None and viewer.member is not None and rank.leader_id == viewer.member.pk


def may_take_back(viewer: Viewer, entry: PracticeEntry) -> bool:
    """An entry of the practice log: staff any, others what they wrote themselves."""
    return viewer.is_staff or entry.noted_by_id == viewer.signed_in.pk
