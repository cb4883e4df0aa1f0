"""Deciding challenges, taking back, calling off."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.dates import day_words
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import allow, back, page
from drill.challenges.models import Challenge
from drill.challenges.rules import may_call_off
from drill.challenges.services import challenge_tables as tables
from drill.challenges.services import challenges as services
from drill.challenges.services import deciding
from roster.people.viewer import Viewer

MENU = "challenges"


@require_POST
@page(rules.staff, MENU)
def decide(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Decide the round's challenges for the spot, with the figures that were on the page."""
    challenge = _challenge(viewer, pk)
    decided = deciding.decide_spot(
        actor=viewer.signed_in, challenge=challenge, seen=request.POST.get("seen", "")
    )
    won = next((c for c in decided if c.state == "won"), None)
    who = (
        f"{won.challenger} wins {won.spot}" if won else f"{challenge.holder} keeps {challenge.spot}"
    )
    done(request, f"Decided: {who}.")
    return redirect("round", pk=challenge.round_id)


@require_POST
@page(rules.staff, MENU)
def take_back(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Open the spot's decision again."""
    challenge = _challenge(viewer, pk)
    deciding.take_back(actor=viewer.signed_in, challenge=challenge)
    done(request, f"The decision about {challenge.spot} is taken back; its marks can change again.")
    return redirect("round", pk=challenge.round_id)


@require_POST
@page(rules.staff, MENU)
def put_into_effect(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The winner holds the spot."""
    challenge = _challenge(viewer, pk)
    today = challenge.round.season.today()
    made = deciding.put_into_effect(actor=viewer.signed_in, challenge=challenge, today=today)
    text = f"{challenge.challenger} holds {challenge.spot} from {day_words(made.holding.starts)}."
    rank = challenge.spot.rank
    if challenge.holder_id in (rank.leader_id, rank.assistant_leader_id):
        text += f"\n{challenge.holder} is still leader or assistant leader of {rank}: "
        text += "change that if you need to."
    for lineup in made.stale:
        text += f"\n{lineup} was published before: make a new one from {lineup.event}'s page."
    done(request, text)
    return redirect("round", pk=challenge.round_id)


@require_POST
@page(rules.belongs, MENU)
def call_off(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A challenge does not take place: staff's word, or the challenger's before it is held."""
    challenge = _challenge(viewer, pk)
    allow(may_call_off(viewer, challenge, timezone.now()))
    services.call_off(actor=viewer.signed_in, challenge=challenge)
    done(request, f"The challenge for {challenge.spot} is called off.")
    return back(request, "challenges" if viewer.is_staff else "my-challenges")


def _challenge(viewer: Viewer, pk: int) -> Challenge:
    return get_object_or_404(tables.challenges(viewer.this_season), pk=pk)
