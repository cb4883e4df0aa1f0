"""What the lineup's pages read from a request."""

from __future__ import annotations

import datetime
import uuid
from typing import TypeVar

from django.db.models import Model, QuerySet
from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from bandops.lib.dates import in_reach
from bandops.lib.errors import Refused
from drill import queries
from drill.models import Event
from drill.rules import may_edit_lineup
from roster.models import Member
from roster.queries import whole_number
from roster.viewer import Viewer

Row = TypeVar("Row", bound=Model)


def event_of(viewer: Viewer, pk: int) -> Event:
    event = get_object_or_404(queries.events(viewer.this_season), pk=pk)
    event.season = viewer.this_season
    return event


def editable_event(viewer: Viewer, pk: int) -> Event:
    event = event_of(viewer, pk)
    refuse_past_cut_off(viewer, event)
    return event


def refuse_past_cut_off(viewer: Viewer, event: Event) -> None:
    """Refused where the viewer may not change the event's lineup any more."""
    if not may_edit_lineup(viewer, event):
        raise Refused("The cut-off has passed: only the director changes this lineup now.")


def posted_version(request: HttpRequest) -> int:
    version = whole_number(request.POST.get("version", ""))
    if version is None:
        raise Refused("The form came without the lineup's version: open the page again.")
    return version


def posted_row(rows: QuerySet[Row], text: str, what: str) -> Row:
    """The row whose id a form sent; Refused when it sent none, or one that is gone."""
    number = whole_number(text)
    if number is None:
        raise Refused(f"Choose a {what}.")
    found = rows.filter(pk=number).first()
    if found is None:
        raise Refused(f"That {what} is gone: choose again.")
    return found


def posted_member(request: HttpRequest, viewer: Viewer, optional: bool = False) -> Member | None:
    text = request.POST.get("member", "")
    if not text and optional:
        return None
    members = Member.objects.filter(season=viewer.this_season).select_related("person")
    return posted_row(members, text, "member")


def posted_key(request: HttpRequest) -> uuid.UUID:
    """The form's own key, so that sending it twice does it once; a new one without."""
    try:
        return uuid.UUID(request.POST.get("key", ""))
    except ValueError:
        return uuid.uuid4()


def posted_time(request: HttpRequest) -> datetime.datetime:
    """When it was done on the phone: never later than now."""
    now = timezone.now()
    try:
        made = parse_datetime(request.POST.get("noted_at", ""))
    except ValueError:
        made = None
    if made is None or timezone.is_naive(made) or not in_reach(made):
        return now
    return min(made, now)
