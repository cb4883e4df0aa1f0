"""Deciding contests, taking back, calling off."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.dates import day_words
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import allow, back, page
from drill.challenges.models import Contest
from drill.challenges.rules import may_call_off
from drill.challenges.services import contest_tables as tables
from drill.challenges.services import contests as services
from drill.challenges.services import deciding
from roster.people.viewer import Viewer

MENU = "contests"


@require_POST
@page(rules.staff, MENU)
def decide(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Decide the round's contests for the spot, with the figures that were on the page."""
    contest = _contest(viewer, pk)
    decided = deciding.decide_spot(
        actor=viewer.signed_in, contest=contest, seen=request.POST.get("seen", "")
    )
    won = next((c for c in decided if c.state == "won"), None)
    who = f"{won.challenger} wins {won.spot}" if won else f"{contest.holder} keeps {contest.spot}"
    done(request, f"Decided: {who}.")
    return redirect("round", pk=contest.round_id)


@require_POST
@page(rules.staff, MENU)
def take_back(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Open the spot's decision again."""
    contest = _contest(viewer, pk)
    deciding.take_back(actor=viewer.signed_in, contest=contest)
    done(request, f"The decision about {contest.spot} is taken back; its marks can change again.")
    return redirect("round", pk=contest.round_id)


@require_POST
@page(rules.staff, MENU)
def put_into_effect(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The winner holds the spot."""
    contest = _contest(viewer, pk)
    today = timezone.localdate(timezone=contest.round.zone)
    made = deciding.put_into_effect(actor=viewer.signed_in, contest=contest, today=today)
    text = f"{contest.challenger} holds {contest.spot} from {day_words(made.holding.starts)}."
    rank = contest.spot.rank
    if contest.holder_id in (rank.leader_id, rank.second_id):
        text += f"\n{contest.holder} is still leader or second of {rank}: change that if need be."
    for lineup in made.stale:
        text += f"\n{lineup} was published before: make a new one from {lineup.event}'s page."
    done(request, text)
    return redirect("round", pk=contest.round_id)


@require_POST
@page(rules.belongs, MENU)
def call_off(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A contest does not take place: staff's word, or the challenger's before it is held."""
    contest = _contest(viewer, pk)
    allow(may_call_off(viewer, contest, timezone.now()))
    services.call_off(actor=viewer.signed_in, contest=contest)
    done(request, f"The contest for {contest.spot} is called off.")
    return back(request, "contests" if viewer.is_staff else "my-contests")


def _contest(viewer: Viewer, pk: int) -> Contest:
    return get_object_or_404(tables.contests(viewer.this_season), pk=pk)
