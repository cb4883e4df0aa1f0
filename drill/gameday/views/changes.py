"""Changes of the day: done, looked at, taken back."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, back, is_sent_later, page
from bandops.lib.web.posted import posted_time
from drill.events.models import Event
from drill.events.posted import event_of
from drill.gameday.enums import ClashState
from drill.gameday.models import Clash, DayChange
from drill.gameday.posted import posted_wish
from drill.gameday.queries import clock
from drill.gameday.services import clashes, fills
from drill.gameday.services import not_out as services
from drill.gameday.services.desk import Wish, stands_as_after
from drill.gameday.services.fills import Outcome
from drill.gameday.services.putting_back import (
    changes_anything,
    more_than_said,
    opens_key,
    would_open,
)
from drill.gameday.views.requests import ask
from drill.gameday.views.words import is_known, outcome_words
from drill.gameday.wording import decided_words, seat_words, seats_words
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.posted import posted_reason, refuse_past_cut_off
from drill.lineup.rules import may_edit_lineup, past_cut_off
from drill.lineup.services.overrides import refuse_unexplained
from drill.lineup.services.proposals import placements_of
from drill.lineup.wording import Names
from drill.publishing.services.notices import telling_words
from drill.publishing.services.slips import count_slips
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.people.services.printable import lacking_letters
from roster.people.viewer import Viewer

MENU = "desk"


@require_POST
@page(rules.staff, MENU)
def fill(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Report, fill and tell in one step; after the cut-off staff ask the director to."""
    event = event_of(viewer, pk)
    wish, reason = posted_wish(request, viewer), posted_reason(request)
    try:
        if not may_edit_lineup(viewer, event):
            return ask(request, viewer, event, wish)
        refuse_unexplained(event, reason)
    except Refused as error:
        # Whatever becomes of the spot: that the member is out is said.
        fills.keep_report(actor=viewer.signed_in, event=event, wish=wish)
        noted = f" {wish.out} is marked out." if wish.out else ""
        raise Refused(error.message + noted, error.details) from error
    outcome = fills.fill(actor=viewer.signed_in, event=event, wish=wish, reason=reason)
    if outcome.change is not None:
        told = telling_words(outcome.change.after)
        done(request, f"{_done_words(event, wish, outcome)} {told}")
        return redirect("desk-change", pk=outcome.change.pk)
    done(request, outcome_words(wish, outcome))
    return redirect("desk-of", pk=event.pk)


def _done_words(event: Event, wish: Wish, outcome: Outcome) -> str:
    """What was done, in which segments where it was not in all."""
    segments = list(event.segments.all())
    of = [s.name for s in segments if s.pk in wish.segments and s not in outcome.over]
    where = ", ".join(of) if 0 < len(of) < len(segments) else ""
    steps = f"{wish.into or 'nobody'} steps in."
    if wish.mover:
        steps = f"{wish.mover} moves, {steps}"
    if wish.out is None:
        text = f"{wish.spot}{f' in {where}' if where else ''}: {steps}"
    else:
        text = f"{wish.out} is out{f' of {where}' if where else ''}: {steps}"
    if outcome.over:
        over = ", ".join(s.name for s in outcome.over)
        text += f" {over}: already over, so nothing changed there."
    return text


@page(rules.staff, MENU)
def change(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What a change did: who stands where now, who was told, slips, and the way back."""
    found = _change(viewer, pk)
    names = Names(found.event.season_id)
    stepped_in = {after for *_, after in found.seats if after}
    ids = stepped_in | {before for _, _, before, _ in found.seats if before}
    at = clock(found.event)
    may_edit, left = may_edit_lineup(viewer, found.event), found.seats_in(at.ids)
    now = seats_of(placements_of(lineup_queries.published(found.event) or found.after))
    as_left = stands_as_after(now, left)
    asked = may_edit and left and found.undone_at is None and as_left
    opens = would_open(found, at) if asked else []
    slips = Member.objects.filter(pk__in=ids).select_related("person")
    context = {
        "change": found,
        "event": found.event,
        "seats": [
            (f"{names.segment(key(g))} {names.spot(key(s))}", _name(names, b), _name(names, a))
            for g, s, b, a in found.seats
        ],
        "slip_count": count_slips(found.event),
        "lacking": lacking_letters(viewer.this_season),
        "slips": sorted(slips, key=lambda m: m.pk not in stepped_in),
        "notices": found.after.notices.select_related("member__person"),
        "newest": lineup_queries.published(found.event),
        "may_edit": may_edit,
        "cut_off_passed": past_cut_off(found.event),
        "left": left,
        "as_left": as_left,
        "opens": _opens_words(opens, names),
        "opens_key": opens_key(opens),
        "is_of_use": changes_anything(left, [seat for seat, _ in opens]),
        "stays": [s for s in at.over if found.seats_in({s.pk})],
    }
    return keep_copy(viewer, render(request, "gameday/change.html", context))


@require_POST
@page(rules.staff, MENU)
def undo(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Everybody back to where they stood before the change."""
    found = _change(viewer, pk)
    if is_known(request, viewer, found.undone_by):
        done(request, "Taken back.")
        return redirect("desk-of", pk=found.event_id)
    refuse_past_cut_off(viewer, found.event)
    reason = posted_reason(request)
    would = would_open(found, clock(found.event))
    names = Names(found.event.season_id)
    _refuse_more_open(would, request.POST.get("opens"), names)
    opens = {spot for (_, spot), _ in would}
    made = fills.undo_change(actor=viewer.signed_in, change=found, reason=reason)
    is_open = f" Open now: {', '.join(map(names.spot, sorted(opens)))}." if opens else ""
    told = f"Revision {made.number} is published.{is_open} {telling_words(made)}"
    done(request, f"Taken back. {told}")
    return redirect("desk-of", pk=found.event_id)


def _refuse_more_open(would: list[tuple[Seat, str]], said: str | None, names: Names) -> None:
    """Somebody became unavailable since the page was made: taking back would open their spot."""
    more = more_than_said(would, said) if said is not None else []
    if more:
        who = ", ".join(f"{names.member(m)} at {seat_words(seat, names)}" for seat, m in more)
        raise Refused(
            f"Nothing was taken back. {who}: not there anymore, so the spot would be open. "
            "Look again."
        )


@require_POST
@page(rules.staff, MENU)
def not_out(request: HttpRequest, viewer: Viewer, pk: int, member_pk: int) -> HttpResponse:
    """Who is entered as out marches after all."""
    event = event_of(viewer, pk)
    member = get_object_or_404(people_queries.members(viewer.this_season), pk=member_pk)
    if not (is_sent_later(request) and not services.is_entered_out(event, member)):
        at = posted_time(request)
        services.not_out(actor=viewer.signed_in, event=event, member=member, at=at)
    done(request, f"{member} is not out after all. Nobody moves by it.")
    return back(request, reverse("desk-of", args=[event.pk]))


@require_POST
@page(rules.staff, MENU)
def decide_clash(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One of two people wanted for a spot."""
    clash = get_object_or_404(
        Clash.objects.select_related("event", "spot__rank", "decided_by"),
        pk=pk,
        event__season=viewer.this_season,
    )
    allow(may_edit_lineup(viewer, clash.event))
    take = request.POST.get("take") == "wanted"
    same = clash.state == (ClashState.CHANGED if take else ClashState.KEPT)
    if same and is_known(request, viewer, clash.decided_by):
        done(request, decided_words(clash))
        return redirect("desk-of", pk=clash.event_id)
    decided = clashes.decide_clash(
        actor=viewer.signed_in, clash=clash, take=take, reason=posted_reason(request)
    )
    done(request, decided_words(decided))
    return redirect("desk-of", pk=clash.event_id)


def _opens_words(opens: list[tuple[Seat, str]], names: Names) -> list[tuple[str, str, str]]:
    """Member, where they stood, and the spot, of what would be open again."""
    seats: dict[str, list[Seat]] = {}
    for seat, member in opens:
        seats.setdefault(member, []).append(seat)
    return [(names.member(m), seats_words(mine, names), mine[0][1]) for m, mine in seats.items()]


def _name(names: Names, member: int | None) -> str:
    return names.member(key(member)) if member else "nobody"


def _change(viewer: Viewer, pk: int) -> DayChange:
    rows = DayChange.objects.select_related(
        "event__season", "before", "after", "member_out__person", "made_by", "undone_by", "absence"
    )
    found = rows.filter(pk=pk, event__season=viewer.this_season).first()
    if found is None:
        raise Http404
    return found
