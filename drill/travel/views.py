"""The travel list of an event: who comes along, what that means, and posting it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import MAX_ATTEMPTS
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.events import queries as event_queries
from drill.events.enums import TravelRole, TravelState
from drill.events.models import Event, TravelList
from drill.publishing.enums import NoticeState
from drill.travel.models import TravelNotice
from drill.travel.services import marching, travel_notices, travel_prints
from drill.travel.services import travel as services
from drill.travel.services.travel_sheet import Sheet, sheet_of
from roster.people.enums import Paper
from roster.people.models import Member
from roster.people.services.printable import lacking_letters
from roster.people.viewer import Viewer

MENU = "travel"


@page(rules.staff, MENU)
def next_travel(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The list of the next event with a travel limit; all events where none has one."""
    event = event_queries.next_with_limit(viewer.this_season)
    if event is not None:
        return redirect("travel", pk=event.pk)
    return render(request, "travel/no_limit.html")


@page(rules.staff, MENU)
def travel(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The list, or what it would be; chances by part and by person."""
    event = _event(viewer, pk)
    it = TravelList.objects.filter(event=event).first()
    context: dict[str, Any] = {"event": event, "list": it}
    try:
        now = marching.marching(event)
    except Refused as error:
        return render(request, "travel/travel.html", context | {"trouble": error.message})
    notices = list(_notices(event).select_related("told_by"))
    context["notices"] = notices
    context["unreached"] = sum(n.state == NoticeState.NOT_REACHED for n in notices)
    sheet = sheet_of(it, now) if it else Sheet(now, marching.chosen(now))
    context |= {"sheet": sheet, "lineup": now.lineup, **_groups(sheet)}
    if it is not None and it.state == TravelState.POSTED:
        context |= _prints(it)
        context["lacking"] = lacking_letters(viewer.this_season)
    return render(request, "travel/travel.html", context)


def _groups(sheet: Sheet) -> dict[str, Any]:
    by_role = sheet.travellers
    return {
        "backups": by_role[TravelRole.BACKUP],
        "must": by_role[TravelRole.MUST],
        "marchers": by_role[TravelRole.MARCHES],
    }


def _prints(it: TravelList) -> dict[str, Any]:
    """The files of the newest posting, and whether more are on their way."""
    newest = travel_prints.print_key(it)
    waiting = Job.objects.filter(key__startswith=newest, done_at__isnull=True)
    attempts = list(waiting.values_list("attempts", flat=True))
    return {
        "files": Artifact.objects.filter(key__startswith=newest),
        "waiting": sum(1 for n in attempts if n < MAX_ATTEMPTS),
        "given_up": sum(1 for n in attempts if n >= MAX_ATTEMPTS),
        "papers": Paper.choices,
    }


@require_POST
@page(rules.staff, MENU)
def change(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One change of the list; what it was is said on the page."""
    event, actor = _event(viewer, pk), viewer.signed_in
    act = CHANGES.get(request.POST.get("what", ""))
    if act is None:
        raise Refused("Choose what to do.")
    done(request, act(request, event, actor))
    return redirect("travel", pk=pk)


def _make(request: HttpRequest, event: Event, actor: User) -> str:
    made = services.make_list(actor=actor, event=event)
    return f"The draft list has {made.travellers.count()} people."


def _fill(request: HttpRequest, event: Event, actor: User) -> str:
    added = services.fill_list(actor=actor, event=event)
    names = ", ".join(str(m) for m in added)
    return f"{len(added)} {'backup goes' if len(added) == 1 else 'backups go'} along: {names}."


def _add(request: HttpRequest, event: Event, actor: User) -> str:
    member = _member(request, event)
    services.add_member(actor=actor, event=event, member=member)
    return f"{member} is on the list."


def _remove(request: HttpRequest, event: Event, actor: User) -> str:
    member = _member(request, event)
    where = services.remove_member(actor=actor, event=event, member=member)
    text = f"{member} is off the list."
    stuck = f"{where} loses its marcher: you can't post the list like this."
    return f"{text}\n{stuck}" if where else text


def _post(request: HttpRequest, event: Event, actor: User) -> str:
    services.post_list(actor=actor, event=event)
    text = "The list is posted: anybody not on it cannot march this event."
    return "\n".join([text, *services.published_only(event)])


def _take_back(request: HttpRequest, event: Event, actor: User) -> str:
    services.take_back(actor=actor, event=event)
    return "The list is a draft again: everybody may march."


def _print(request: HttpRequest, event: Event, actor: User) -> str:
    services.request_prints(actor=actor, event=event, paper=request.POST.get("paper", ""))
    return "The print is being made."


def _told(request: HttpRequest, event: Event, actor: User) -> str:
    pk = lib_forms.whole_number(request.POST.get("notice", ""))
    notice = get_object_or_404(_notices(event), pk=pk)
    travel_notices.tell_in_person(actor=actor, notice=notice)
    return f"{notice.member} was told in person."


def _mail_again(request: HttpRequest, event: Event, actor: User) -> str:
    it = get_object_or_404(TravelList, event=event)
    count = travel_notices.send_again(actor=actor, it=it, notices=_notices(event))
    return f"{count} notice{'' if count == 1 else 's'} will be emailed again."


CHANGES: dict[str, Callable[[HttpRequest, Event, User], str]] = {
    "make": _make,
    "fill": _fill,
    "add": _add,
    "remove": _remove,
    "post": _post,
    "take back": _take_back,
    "print": _print,
    "told": _told,
    "mail again": _mail_again,
}


def _member(request: HttpRequest, event: Event) -> Member:
    member_id = lib_forms.whole_number(request.POST.get("member", ""))
    if member_id is None:
        raise Refused("Choose a member.")
    members = Member.objects.select_related("person")
    return get_object_or_404(members, pk=member_id, season=event.season)


def _notices(event: Event) -> QuerySet[TravelNotice]:
    return TravelNotice.objects.filter(event=event).select_related("member__person")


def _event(viewer: Viewer, pk: int) -> Event:
    event = get_object_or_404(event_queries.events(viewer.this_season), pk=pk)
    event.season = viewer.this_season
    return event
