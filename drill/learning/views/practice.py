"""The practice log: who worked on which spot at a rehearsal."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web import forms as lib_forms
from bandops.lib.web.messages import done, refuse
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, is_queued, page
from bandops.lib.web.posted import posted_row
from drill.events.models import Event
from drill.learning.forms import PracticeForm
from drill.learning.services.learning import Learner, ShowLine, learners
from drill.rehearsals.models import PracticeEntry
from drill.rehearsals.posted import menu_of, ranks_for, rehearsal_of
from drill.rehearsals.rules import leads_rehearsals, may_note, may_take_back
from drill.rehearsals.services.attendance import rank_on
from drill.rehearsals.services.practice import log_practice, take_back
from drill.rehearsals.services.rehearsals import is_open
from drill.shows.models import Show
from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank, Spot


@dataclass(frozen=True)
class Sent:
    """What was chosen in a form that was refused, and why; the rank it stands under."""

    text: str
    rank: int | None
    member: int | None
    spot: int | None
    show: int | None
    first: int | None
    last: int | None
    with_sets: bool

    @property
    def of_line(self) -> tuple[int | None, ...]:
        """The member, spot and show whose own form it was."""
        return (self.member, self.spot, self.show) if self.with_sets else ()


@dataclass(frozen=True)
class Offer:
    """The form of one show of a spot: the key of its next entry, the sets that stand chosen."""

    of: ShowLine
    key: uuid.UUID
    first: int | None
    last: int | None
    refused: str


@page(leads_rehearsals)
def practice(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A rank's alternates and stand-ins with their spots: one tap says they worked on one."""
    event = rehearsal_of(viewer, pk)
    if request.method != "POST":
        return _page(request, viewer, event)
    try:
        return _log(request, viewer, event)
    except Refused as error:
        if is_queued(request) or not is_open(event):
            raise
        return _page(request, viewer, event, _sent(request, error))


def _page(
    request: HttpRequest, viewer: Viewer, event: Event, sent: Sent | None = None
) -> HttpResponse:
    """The log; with a form as it was sent and the reason beside it, when it was refused."""
    asked = request.GET.get("rank", "") or (str(sent.rank) if sent and viewer.is_staff else "")
    ranks = ranks_for(viewer, asked) or _first_ranks(viewer)
    sheets = [_sheet(viewer, event, rank, sent) for rank in ranks]
    if sent is not None and not any(sheet["says"] for sheet in sheets):
        refuse(request, Refused(sent.text))
    context = {
        "menu": menu_of(viewer),
        "event": event,
        "open": is_open(event),
        "sheets": sheets,
        "ranks": Rank.objects.filter(season=viewer.this_season) if viewer.is_staff else (),
        "shows": Show.objects.filter(season=viewer.this_season, versions__isnull=False).distinct(),
    }
    return keep_copy(viewer, render(request, "learning/rank.html", context))


def _sent(request: HttpRequest, error: Refused) -> Sent:
    def number(name: str) -> int | None:
        return lib_forms.whole_number(request.POST.get(name, ""))

    return Sent(
        text=" ".join((error.message, *error.details)),
        rank=number("rank"),
        member=number("member"),
        spot=number("spot"),
        show=number("show"),
        first=number("first_set"),
        last=number("last_set"),
        with_sets="first_set" in request.POST,
    )


def _first_ranks(viewer: Viewer) -> list[Rank]:
    """Staff who name no rank begin with the first."""
    return list(Rank.objects.filter(season=viewer.this_season)[:1])


def _sheet(viewer: Viewer, event: Event, rank: Rank, sent: Sent | None) -> dict[str, Any]:
    people = learners(event, rank, with_draft=viewer.is_staff)
    rows = [_person(viewer, person, sent) for person in people]
    of_line = any(offer.refused for row in rows for _, offers in row["spots"] for offer in offers)
    other = sent if sent and people and sent.rank == rank.pk and not of_line else None
    return {
        "rank": rank,
        "people": rows,
        "spots": rank_queries.spots(viewer.this_season).filter(rank=rank),
        "key": uuid.uuid4(),
        "sent": other,
        "says": of_line or other is not None,
    }


def _person(viewer: Viewer, person: Learner, sent: Sent | None) -> dict[str, Any]:
    return {
        "of": person,
        "spots": [
            (
                line.work,
                [_offer(show, (person.member.pk, line.work.spot.pk), sent) for show in line.shows],
            )
            for line in person.spots
        ],
        "entries": [(entry, may_take_back(viewer, entry.row)) for entry in person.entries],
    }


def _offer(line: ShowLine, whose: tuple[int, int], sent: Sent | None) -> Offer:
    """From the first set to the last, unless others were chosen in it and are still there."""
    ids = [pk for pk, _ in line.sets]
    last = ids[-1] if ids else None
    if sent is None or sent.of_line != (*whose, line.show.pk):
        return Offer(line, uuid.uuid4(), None, last, "")
    last = sent.last if sent.last in ids else last
    return Offer(line, uuid.uuid4(), sent.first, last, sent.text)


def _log(request: HttpRequest, viewer: Viewer, event: Event) -> HttpResponse:
    told = PracticeForm(request.POST).told()
    season = viewer.this_season
    spots = Spot.objects.filter(rank__season=season).select_related("rank")
    member = posted_row(Member.objects.filter(season=season), str(told["member"]), "member")
    spot = posted_row(spots, str(told["spot"]), "spot")
    show = posted_row(Show.objects.filter(season=season), str(told["show"]), "show")
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
    rank = lib_forms.whole_number(request.POST.get("rank", ""))
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
    rank = lib_forms.whole_number(request.POST.get("rank", ""))
    asked = f"?rank={rank}" if viewer.is_staff and rank else ""
    return redirect(f"{reverse('practice', args=[entry.event_id])}{asked}#m{entry.member_id}")
