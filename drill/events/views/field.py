"""What another event's field changes in the words."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from bandops.lib.web import rules
from bandops.lib.web.pages import page
from drill.events.posted import event_of
from drill.events.services.refield import SetTexts, ShowTexts, changed_texts
from drill.field.wording import field_label
from roster.people.viewer import Viewer

FEW = 400
"""so many lines are shown at once; more, a set at a time"""


@page(rules.staff, "events")
def event_texts(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Which coordinates read differently on the event's field, by show, set and dot."""
    event = event_of(viewer, pk)
    shows = changed_texts(event)
    chosen = request.GET.get("set", "")
    if sum(show.count for show in shows) > FEW and not chosen:
        chosen = next(str(one.set.pk) for show in shows for one in show.sets)
    context = {
        "event": event,
        "field": field_label(event.field_type),
        "shows": [_show_texts(show, chosen) for show in shows],
        "chosen": chosen,
        "count": sum(show.count for show in shows),
    }
    return render(request, "events/texts.html", context)


def _show_texts(show: ShowTexts, chosen: str) -> tuple[ShowTexts, str, list[SetTexts]]:
    """The show, its own field's name, and the sets to lay out: the chosen one, else all."""
    wanted = [one for one in show.sets if chosen in ("", "all", str(one.set.pk))]
    return show, field_label(show.before.name), wanted
