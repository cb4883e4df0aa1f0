"""After the cut-off: staff propose a fill or a swap, the director says yes or no."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.outbox.dispatch import add_job
from drill.absences.models import Absence
from drill.events.models import Event
from drill.gameday.enums import RequestState
from drill.gameday.models import DayChange, FillRequest
from drill.gameday.queries import clock_to_change
from drill.gameday.rules import ITS_DIRECTOR, asked_it, may_approve, may_decline
from drill.gameday.services.desk import Desk, Wish, open_desk
from drill.gameday.services.fills import Outcome, fill, keep_report, seats_after
from drill.gameday.services.missing import word_of
from drill.gameday.services.swaps import Swap, seats_asked, swap
from drill.gameday.wording import day_change_sentences
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.core.rules import Facts
from drill.lineup.services.problem_builder import Built
from drill.lineup.services.proposals import placements_of
from drill.lineup.wording import Names
from drill.rehearsals.core.presence import ABSENT, Presence
from drill.rehearsals.services.presence import Cell, presences
from roster.people.viewer import Viewer, viewer_of

SHOWN = 5
"""decided requests that the desk still shows"""
LONGEST_ACTION = 100


@dataclass(frozen=True)
class Asked:
    """A request as pages show it: what it would do, whether somebody stands there by now, and what
    the reader may do with it."""

    request: FillRequest
    sentences: tuple[str, ...]
    is_outdated: bool = False
    cannot: tuple[str, ...] = ()
    """names of those who were to step in and cannot march there any more"""
    why_not: str = ""
    """why nothing of it can be done any more"""
    not_here: str = ""
    """names of those who were to step in and were noted as not here"""
    approves: bool = False
    declines: bool = False
    withdraws: bool = False


def ask_director(
    *, actor: User, event: Event, wish: Wish | Swap, form: str, note: str = ""
) -> FillRequest:
    """Send a fill or a swap to the director, and say at once that the member is out; sent twice it
    is asked once. Refused where it could not be done as things stand."""
    with recorded(actor, "ask for the director's word"):
        Event.objects.select_for_update().get(pk=event.pk)
        known = FillRequest.objects.filter(key=wish.key).first()
        if known is not None:
            return known
        desk = open_desk(event)
        if desk is None:
            raise Refused("Nothing is published for this event yet.")
        seats = _rows(desk, _wanted(desk, wish))
        _refuse_asked_already(event, seats)
        if isinstance(wish, Wish):
            keep_report(actor=actor, event=event, wish=wish)
        made = FillRequest.objects.create(
            event=event,
            key=wish.key,
            form=form,
            seats=seats,
            member_out=wish.out if isinstance(wish, Wish) else None,
            asked_by=actor,
            note=note,
        )
        add_job(
            key=f"asked:{made.key}",
            kind="gameday.asked",
            group=f"event:{event.pk}",
            payload={"request": made.pk},
        )
    return made


def _wanted(desk: Desk, wish: Wish | Swap) -> Mapping[Seat, str | None]:
    """Seat -> its new member."""
    if isinstance(wish, Swap):
        return seats_asked(desk, wish)
    if wish.out is None and wish.into is None:
        raise Refused("Choose who steps in.")
    return seats_after(desk, wish.within(clock_to_change(desk.event, wish.segments).ids))


def approve(*, actor: User, request: FillRequest, wish: Wish | Swap) -> DayChange:
    """Do what was asked as the director's own change; its reason names who asked. Refused where
    the seats have changed hands since, and to a deputy who asked for it."""
    own = request.asked_by == actor
    whose = "they asked for themselves" if own else f"asked for by {request.asked_by}"
    what = "swap" if isinstance(wish, Swap) else "fill"
    with recorded(actor, f"approve the {what} {whose}"[:LONGEST_ACTION]):
        request = _waiting(request)
        if own and not viewer_of(actor).is_appointed_director:
            raise Refused(ITS_DIRECTOR)
        if is_outdated(request, _seats_now(request.event)):
            raise Refused(
                "The spots have changed hands: nothing was done. "
                "Fill them at the desk, or decline the request."
            )
        note = f": {request.note}" if request.note else "."
        reason = f"Asked for by {request.asked_by}{note}"[:200]
        change = _done(actor, request.event, wish, reason).change
        if change is None:
            raise Refused("Too late to do it the way it was asked: nothing changed.")
        # What was said when it was asked is taken back with it, too.
        change.absence = change.absence or Absence.objects.filter(key=request.key).first()
        change.save()
        request.change = change
        _decide(actor, request, RequestState.APPROVED)
    return change


def _done(actor: User, event: Event, wish: Wish | Swap, reason: str) -> Outcome:
    if isinstance(wish, Swap):
        return swap(actor=actor, event=event, wish=wish, reason=reason)
    return fill(actor=actor, event=event, wish=wish, reason=reason)


def decline(*, actor: User, request: FillRequest, answer: str) -> FillRequest:
    """The director says no, and why."""
    if not answer:
        raise Refused("Say why not.")
    with recorded(actor, "decline a request"):
        request = _waiting(request)
        request.answer = answer
        _decide(actor, request, RequestState.DECLINED)
    return request


def withdraw(*, actor: User, request: FillRequest) -> FillRequest:
    """Whoever asked no longer does."""
    with recorded(actor, "withdraw a request"):
        request = _waiting(request)
        if request.asked_by != actor:
            raise Refused(f"{request.asked_by} asked for this: only they can withdraw it.")
        _decide(actor, request, RequestState.WITHDRAWN)
    return request


def is_outdated(request: FillRequest, now: Mapping[Seat, str | None]) -> bool:
    """True when somebody else stands on a seat than when it was asked, or whoever was to take one
    marches another spot now."""
    rows = [(key(g), key(s), _member(was), _member(to)) for g, s, was, to in request.seats]
    asked = {(segment, spot) for segment, spot, _, _ in rows}
    marching = {(g, who) for (g, s), who in now.items() if who and (g, s) not in asked}
    return any(now.get((g, s)) != was or (g, to) in marching for g, s, was, to in rows)


def waiting_requests(viewer: Viewer, event: Event, built: Built) -> list[Asked]:
    """The event's requests that wait for the director, with what the viewer may do; one query
    where there is none."""
    rows = list(_shown(event).filter(state=RequestState.WAITING))
    if not rows:
        return []
    names, now, facts = Names(event.season_id), _seats_now(event), Facts(built.problem)
    noted = presences([event])
    return [
        Asked(
            request,
            _sentences(request, names),
            outdated := is_outdated(request, now),
            cannot := tuple(map(names.member, _cannot(request, facts))),
            why_not := _why_not(request, built),
            _not_here(request, names, noted),
            approves=may_approve(viewer, request) and not (outdated or cannot or why_not),
            declines=may_decline(viewer, request),
            withdraws=asked_it(viewer, request),
        )
        for request in rows
    ]


def _why_not(request: FillRequest, built: Built) -> str:
    """Why it is of no use any more; empty where it still is."""
    segments = {key(g or 0) for g, *_ in request.seats}
    if segments <= built.over:
        return "Already over: too late to approve it."
    out = request.member_out
    if out is not None:
        left = segments - built.over
        if not any(word_of(built, key(out.pk), segment) == "out" for segment in left):
            return f"{out} is not out anymore: decline it."
    return ""


def _not_here(request: FillRequest, names: Names, noted: Mapping[Cell, Presence]) -> str:
    """Whoever was to step in and was noted as not here, by name."""
    taking = {to for *_, was, to in request.seats if to and to != was}
    missed = [
        names.member(key(pk))
        for pk in sorted(taking)
        if (found := noted.get((request.event_id, pk))) and found.state == ABSENT
    ]
    return ", ".join(missed)


def _cannot(request: FillRequest, facts: Facts) -> list[str]:
    """Whoever was to take a seat and may not march it now."""
    taking = [(key(g or 0), key(s or 0), _member(to)) for g, s, was, to in request.seats]
    return sorted({who for g, s, who in taking if who and not _may_march(facts, g, s, who)})


def _may_march(facts: Facts, segment: str, spot: str, who: str) -> bool:
    if who not in facts.members or spot not in facts.spots:
        return False
    return not facts.why_not(facts.members[who], segment, facts.spots[spot])


def decided_requests(event: Event) -> list[Asked]:
    """The event's requests that were decided last."""
    decided = _shown(event).filter(state__in=(RequestState.APPROVED, RequestState.DECLINED))
    names = Names(event.season_id)
    return [Asked(r, _sentences(r, names)) for r in decided.order_by("-decided_at", "-pk")[:SHOWN]]


def _shown(event: Event) -> QuerySet[FillRequest]:
    return FillRequest.objects.filter(event=event).select_related(
        "member_out__person", "asked_by", "decided_by", "event", "change"
    )


def _sentences(request: FillRequest, names: Names) -> tuple[str, ...]:
    """What is asked; what was done, where it was approved."""
    seats = request.change.seats if request.change else request.seats
    return tuple(day_change_sentences(seats, names))


def _rows(desk: Desk, after: Mapping[Seat, str | None]) -> list[list[int | None]]:
    """[segment, spot, before, after] of every seat that the fill changes."""
    return [
        [int(g), int(s), _number(desk.field.seats[g, s]), _number(member)]
        for (g, s), member in sorted(after.items())
    ]


def _refuse_asked_already(event: Event, seats: list[list[int | None]]) -> None:
    for other in FillRequest.objects.filter(event=event, state=RequestState.WAITING):
        if other.seats == seats:
            raise Refused(f"{other.asked_by} already asked for this: the director decides.")


def _seats_now(event: Event) -> Mapping[Seat, str | None]:
    last = lineup_queries.published(event)
    return seats_of(placements_of(last)) if last is not None else {}


def _waiting(request: FillRequest) -> FillRequest:
    """The request as it stands, with its event locked; Refused where it was decided already."""
    Event.objects.select_for_update().get(pk=request.event_id)
    rows = FillRequest.objects.select_for_update(of=("self",)).select_related("event__season")
    fresh = rows.get(pk=request.pk)
    if fresh.state != RequestState.WAITING:
        raise Refused(f"This request is already {fresh.get_state_display()}.")
    return fresh


def _decide(actor: User, request: FillRequest, state: RequestState) -> None:
    request.state, request.decided_by = state, actor
    request.decided_for, request.decided_at = actor.acting_for, timezone.now()
    request.save()


def _number(member: str | None) -> int | None:
    return int(member) if member else None


def _member(pk: int | None) -> str | None:
    return key(pk) if pk else None
