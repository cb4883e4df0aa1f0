"""Events to come follow members who may no longer march them: orders, lessons, challenges, travel
lists, drafts and published lineups, in one transaction."""

from __future__ import annotations

from collections.abc import Collection

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.backups.models import Lesson
from drill.challenges.services.leaving import drop_challenges
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.leaving.services.filling import Filled, filled, lost_seats
from drill.lineup import queries as lineup_queries
from drill.lineup.core.problem import Seat
from drill.lineup.models import Pin
from drill.lineup.rules import may_edit_lineup
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.revising import amend_draft, revise
from drill.travel.services.travel import drop_members
from roster.people.enums import MemberStatus
from roster.people.models import Member, Season
from roster.people.viewer import viewer_of

LEFT: dict[str, object] = {"code": "left"}

AFTER_CUT_OFF = "Somebody left, is on leave or may not march."
"""kept with a revision that follows them after the cut-off"""


def follow_members(*, actor: User, season: Season, member_ids: Collection[int]) -> list[str]:
    """Take those of the members who may no longer march out of events to come; what was done, in
    sentences.

    A published lineup gets a new revision, with the nearest free member where there is one, else
    an open spot; a draft is kept and loses them in the same way. Refused where a lineup past its
    cut-off would change and the actor is not a director.
    """
    with recorded(actor, "follow who stopped"):
        members = list(
            Member.objects.filter(pk__in=member_ids, season=season)
            .select_related("person")
            .prefetch_related("qualifications")
            .order_by("person__sort_key", "pk")
        )
        gone = [m for m in members if m.status != MemberStatus.ACTIVE]
        said = drop_challenges(actor=actor, members=gone)
        for event in event_queries.coming_events(season).order_by("date", "pk"):
            event.season = season
            said += _follow_at(actor, event, members)
    return said


def _follow_at(actor: User, event: Event, members: list[Member]) -> list[str]:
    barred = [m for m in members if _is_barred(m, event)]
    gone = [m for m in barred if m.status != MemberStatus.ACTIVE]
    Event.objects.select_for_update().get(pk=event.pk)
    Pin.objects.filter(event=event, member__in=barred).delete()
    Lesson.objects.filter(plan__event=event, member__in=barred).delete()
    event.must_travel.remove(*gone)
    said = drop_members(actor=actor, event=event, members=barred)
    return said + _follow_lineups(actor, event, members)


def _is_barred(member: Member, event: Event) -> bool:
    return member.status != MemberStatus.ACTIVE or not member.may_march_on(event.date)


def _follow_lineups(actor: User, event: Event, members: list[Member]) -> list[str]:
    """The draft first, so that the revision finds it as staff will want it."""
    draft, last = lineup_queries.draft(event), lineup_queries.published(event)
    over = lineup_queries.segments_over(event)
    in_draft = lost_seats(draft, members, over) if draft else {}
    in_last = lost_seats(last, members, over) if last else {}
    if not (in_draft or in_last):
        return []
    _refuse_past_cut_off(actor, event)
    built = build(event)
    said = []
    if draft is not None and in_draft:
        made = filled(built, placements_of(draft), in_draft)
        amend_draft(draft=draft, built=built, seats=made.seats, why=_reasons(made.seats))
        said.append(f"{event}: the draft follows. {_words(built, made)}")
    if last is not None and in_last:
        made = filled(built, placements_of(last), in_last)
        revision = revise(
            actor=actor,
            event=event,
            built=built,
            seats=made.seats,
            why=_reasons(made.seats),
            reason=AFTER_CUT_OFF,
        )
        said.append(f"{event}: revision {revision.number} is published. {_words(built, made)}")
    return said


def _refuse_past_cut_off(actor: User, event: Event) -> None:
    if not may_edit_lineup(viewer_of(actor), event):
        raise Refused(
            f"The cut-off of {event} has passed and its lineup would change: only the director "
            "can do that now."
        )


def _reasons(seats: dict[Seat, str | None]) -> dict[Seat, dict[str, object]]:
    return {seat: LEFT for seat, member in seats.items() if member is None}


def _words(built: Built, made: Filled) -> str:
    """Who steps in where, and what stays open, each spot once."""
    where: dict[tuple[str, str | None], list[str]] = {}
    for (segment, spot), member in made.seats.items():
        where.setdefault((spot, member), []).append(built.segments[segment].name)
    parts = []
    for (spot, member), segments in where.items():
        at = f"{built.spots[spot]} in {' and '.join(segments)}"
        parts.append(f"{built.members[member]} marches {at}" if member else f"{at} is open")
    return "; ".join(parts) + "."
