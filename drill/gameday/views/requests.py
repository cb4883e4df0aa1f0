"""The director's word after the cut-off: a proposed fill approved, declined or withdrawn."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib import mail
from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import back, page
from drill.events.models import Event
from drill.gameday.enums import RequestState
from drill.gameday.models import DayChange, FillRequest
from drill.gameday.posted import posted_swap, posted_wish
from drill.gameday.rules import asked_it
from drill.gameday.services import requests as services
from drill.gameday.services.desk import Wish
from drill.gameday.services.not_out import is_entered_out
from drill.gameday.services.swaps import Swap
from drill.gameday.views.words import is_known
from drill.lineup.posted import posted_reason, refuse_past_cut_off
from drill.publishing.services.notices import telling_words
from roster.people.viewer import Viewer

MENU = "desk"


@require_POST
@page(rules.staff, MENU)
def approve(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Done as the director's own change."""
    asked = _asked(viewer, pk)
    if asked.change is not None and is_known(request, viewer, asked.decided_by):
        return _approved(request, asked.change)
    refuse_past_cut_off(viewer, asked.event)
    change = services.approve(
        actor=viewer.signed_in, request=asked, wish=_wish_again(asked, viewer)
    )
    return _approved(request, change)


def _approved(request: HttpRequest, change: DayChange) -> HttpResponse:
    done(request, f"Approved: revision {change.after.number}. {telling_words(change.after)}")
    return redirect("desk-change", pk=change.pk)


@require_POST
@page(rules.staff, MENU)
def decline(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Not done, with a word why."""
    asked = _asked(viewer, pk)
    if not _is_so_already(request, viewer, asked, RequestState.DECLINED):
        refuse_past_cut_off(viewer, asked.event)
        if asked_it(viewer, asked):
            raise Refused("You asked for this yourself: withdraw it instead.")
        services.decline(actor=viewer.signed_in, request=asked, answer=posted_reason(request))
    done(request, f"Declined. {asked.asked_by} can read why at the desk.{_still_out(asked)}")
    return _back(request, asked)


@require_POST
@page(rules.staff, MENU)
def withdraw(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """No longer asked for."""
    asked = _asked(viewer, pk)
    if not _is_so_already(request, viewer, asked, RequestState.WITHDRAWN):
        services.withdraw(actor=viewer.signed_in, request=asked)
    done(request, f"Withdrawn.{_still_out(asked)}")
    return _back(request, asked)


def _still_out(asked: FillRequest) -> str:
    """What was said with the request stands without it."""
    member = asked.member_out
    if member is None or not is_entered_out(asked.event, member):
        return ""
    return f" {member} is still marked out: if not, press “Not out after all” at the desk."


def _is_so_already(
    request: HttpRequest, viewer: Viewer, asked: FillRequest, state: RequestState
) -> bool:
    return asked.state == state and is_known(request, viewer, asked.decided_by)


def _asked(viewer: Viewer, pk: int) -> FillRequest:
    rows = FillRequest.objects.select_related(
        "event__season", "asked_by", "decided_by", "change__after", "member_out__person"
    )
    return get_object_or_404(rows, pk=pk, event__season=viewer.this_season)


def ask(request: HttpRequest, viewer: Viewer, event: Event, wish: Wish | Swap) -> HttpResponse:
    """The form goes to the director as it was sent."""
    form = request.POST.copy()
    form.pop("csrfmiddlewaretoken", None)
    services.ask_director(
        actor=viewer.signed_in,
        event=event,
        wish=wish,
        form=form.urlencode(),
        note=posted_reason(request),
    )
    out = wish.out if isinstance(wish, Wish) else None
    noted = f" {out} is marked out." if out else ""
    done(
        request,
        f"The cut-off has passed: the director has been asked.{noted} No spot has changed yet. "
        + ("" if mail.leaves() else "Email is not set up: tell the director to look at the desk."),
    )
    return redirect("desk-of", pk=event.pk)


def _wish_again(asked: FillRequest, viewer: Viewer) -> Wish | Swap:
    """The wish of the form that staff sent."""
    sent = HttpRequest()
    sent.method, sent.POST = "POST", QueryDict(asked.form)
    return posted_swap(sent, viewer) if "first" in sent.POST else posted_wish(sent, viewer)


def _back(request: HttpRequest, asked: FillRequest) -> HttpResponse:
    return back(request, reverse("desk-of", args=[asked.event_id]))
