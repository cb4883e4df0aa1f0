"""What a lineup's forms sent."""

from __future__ import annotations

from django.http import HttpRequest

from bandops.lib.errors import Refused
from bandops.lib.web.forms import whole_number
from bandops.lib.web.posted import posted_row
from drill.events.models import Event
from drill.events.posted import event_of
from drill.lineup.rules import may_edit_lineup
from roster.people.models import Member
from roster.people.viewer import Viewer

LONGEST_REASON = 200
PAST_CUT_OFF = "The cut-off has passed: only the director changes this lineup now."


def editable_event(viewer: Viewer, pk: int) -> Event:
    event = event_of(viewer, pk)
    refuse_past_cut_off(viewer, event)
    return event


def refuse_past_cut_off(viewer: Viewer, event: Event) -> None:
    """Refused where the viewer may not change the event's lineup any more."""
    if not may_edit_lineup(viewer, event):
        raise Refused(PAST_CUT_OFF)


def posted_reason(request: HttpRequest) -> str:
    """Why something changes after the cut-off, as far as the form asked."""
    text = request.POST.get("reason", "").replace("\0", "").strip()
    if len(text) > LONGEST_REASON:
        raise Refused(f"The reason is longer than {LONGEST_REASON} characters: shorten it.")
    return text


def posted_version(request: HttpRequest) -> int:
    version = whole_number(request.POST.get("version", ""))
    if version is None:
        raise Refused("This page is out of date: open it again.")
    return version


def posted_number(request: HttpRequest) -> int | None:
    """The revision that the page showed; None where it showed a draft."""
    return whole_number(request.POST.get("number", ""))


def posted_member(
    request: HttpRequest, viewer: Viewer, optional: bool = False, name: str = "member"
) -> Member | None:
    text = request.POST.get(name, "")
    if not text and optional:
        return None
    members = Member.objects.filter(season=viewer.this_season).select_related("person")
    return posted_row(members, text, "member")
