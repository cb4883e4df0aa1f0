"""The practice log: who worked on which spot at a rehearsal."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web.messages import done
from drill.forms.rehearsals import PracticeForm
from drill.models import Event, PracticeEntry, Show
from drill.rules import leads_rehearsals, may_note, may_take_back
from drill.services.attendance import rank_on
from drill.services.learning import Learner, learners
from drill.services.practice import log_practice, take_back
from drill.services.rehearsals import is_open
from drill.views.attendance import ranks_for
from drill.views.rehearsals import menu_of, rehearsal_of
from roster import queries as roster
from roster.models import Member, Rank, Spot
from roster.viewer import Viewer
from roster.views.access import allow, page


@page(leads_rehearsals)
def practice(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A rank's alternates and stand-ins with their spots: one tap says they worked on one."""
    event = rehearsal_of(viewer, pk)
    if request.method == "POST":
        return _log(request, viewer, event)
    ranks = ranks_for(viewer, request.GET.get("rank", "")) or _first_ranks(viewer)
    context = {
        "menu": menu_of(viewer),
        "event": event,
        "open": is_open(event),
        "sheets": [_sheet(viewer, event, rank) for rank in ranks],
        "ranks": Rank.objects.filter(season=viewer.this_season) if viewer.is_staff else (),
        "shows": Show.objects.filter(season=viewer.this_season, versions__isnull=False).distinct(),
    }
    return render(request, "drill/practice/rank.html", context)


def _first_ranks(viewer: Viewer) -> list[Rank]:
    """Staff who name no rank begin with the first."""
    return list(Rank.objects.filter(season=viewer.this_season)[:1])


def _sheet(viewer: Viewer, event: Event, rank: Rank) -> dict[str, Any]:
    people = learners(event, rank, with_draft=viewer.is_staff)
    return {
        "rank": rank,
        "people": [_person(viewer, person) for person in people],
        "spots": roster.spots(viewer.this_season).filter(rank=rank),
        "key": uuid.uuid4(),
    }


def _person(viewer: Viewer, person: Learner) -> dict[str, Any]:
    return {
        "of": person,
        "spots": [
            (spot.work, [(show, uuid.uuid4()) for show in spot.shows]) for spot in person.spots
        ],
        "entries": [(entry, may_take_back(viewer, entry.row)) for entry in person.entries],
    }


def _log(request: HttpRequest, viewer: Viewer, event: Event) -> HttpResponse:
    told = PracticeForm(request.POST).told()
    season = viewer.this_season
    member = get_object_or_404(Member, pk=told["member"], season=season)
    spot = get_object_or_404(
        Spot.objects.select_related("rank"), pk=told["spot"], rank__season=season
    )
    show = get_object_or_404(Show, pk=told["show"], season=season)
    own = rank_on(event.date, member)
    allow(may_note(viewer, spot.rank_id) or may_note(viewer, own.pk if own else None))
    entry = log_practice(
        actor=viewer.signed_in,
        event=event,
        member=member,
        spot=spot,
        show=show,
        first_set=told["first_set"],
        last_set=told["last_set"],
        key=told["key"],
        noted_at=told["noted_at"],
    )
    done(request, f"{member} worked on {spot}, {entry.show}.")
    rank = roster.whole_number(request.POST.get("rank", ""))
    asked = f"?rank={rank}" if viewer.is_staff and rank else ""
    return redirect(f"{reverse('practice', args=[event.pk])}{asked}#m{member.pk}")


@require_POST
@page(leads_rehearsals)
def remove(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Take an entry back."""
    entries = PracticeEntry.objects.select_related("event", "member__person", "spot__rank", "show")
    entry = get_object_or_404(entries, pk=pk, event__season=viewer.this_season)
    allow(may_take_back(viewer, entry))
    take_back(actor=viewer.signed_in, entry=entry)
    done(request, f"{entry.member} on {entry.spot}, {entry.show}: taken back.")
    rank = roster.whole_number(request.POST.get("rank", ""))
    asked = f"?rank={rank}" if viewer.is_staff and rank else ""
    return redirect(f"{reverse('practice', args=[entry.event_id])}{asked}#m{entry.member_id}")
