"""The drill of one event: a line closed up, a show cut, both pictured before they are saved."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through, whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.closing.forms import CloseUpForm, CutForm
from drill.closing.services import closed
from drill.closing.services import closing as services
from drill.closing.views.pictures import jump_of, pictures_of
from drill.events import queries as event_queries
from drill.events.models import Event, Segment
from drill.events.posted import event_of
from drill.lineup.posted import editable_event, refuse_past_cut_off
from drill.lineup.rules import may_edit_lineup
from drill.shows.models import Show, ShowVersion
from drill.shows.wording import change_words
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries

MENU = "drill"
USUAL_COUNTS = 16


@page(rules.staff, MENU)
def event_drill(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Which drill the event marches, what is changed for it alone, and how to take it back."""
    event = event_of(viewer, pk)
    shows = list(Show.objects.filter(segments__event=event).distinct())
    in_use = event_queries.current_versions({s.pk for s in shows}, event)
    own = list(ShowVersion.objects.filter(at_event__event=event).order_by("order"))
    names = {s.pk: str(s) for s in rank_queries.spots(viewer.this_season)}
    rows = []
    for show in shows:
        mine = [v for v in own if v.show_id == show.pk]
        newest, restored = services.newest_change(mine)
        rows.append(
            {
                "show": show,
                "version": in_use.get(show.pk),
                "changes": [(v, change_words(v.change or {}, names)) for v in mine],
                "newest": newest,
                "restored": restored,
                "revision": services.revision_with(event, newest) if newest else None,
            }
        )
    context = {"event": event, "rows": rows, "may_edit": may_edit_lineup(viewer, event)}
    return render(request, "closing/event.html", context)


@page(rules.staff, MENU)
def close_up(
    request: HttpRequest, viewer: Viewer, pk: int, segment_pk: int, spot_pk: int
) -> HttpResponse:
    """A spot left open: the line closed up, or the hole left, side by side."""
    event = event_of(viewer, pk)
    segment = get_object_or_404(Segment.objects.select_related("show"), pk=segment_pk, event=event)
    spot = get_object_or_404(rank_queries.spots(viewer.this_season), pk=spot_pk)
    show = _show_of(segment)
    line = closed.line_of(event, show, spot)
    seen = closed.closed_up(event, show, spot, line, None)
    labels = [head.label for head in seen[0].before.sets]
    form = CloseUpForm(labels, request.POST or None, initial=_initial(line, seen[1]))
    if request.method == "POST" and form.is_valid():
        told = {"event": event, "show": show, "spot": spot, **form.cleaned_data}
        if request.POST.get("what") == "preview":
            seen = save_through(form, lambda: closed.closed_up(**told)) or seen
        elif _saved(viewer, event, form, lambda: services.close_up(actor=viewer.signed_in, **told)):
            done(request, f"{spot} is closed up for {event}. Publish to tell the people it moves.")
            return redirect("event-drill", pk=event.pk)
    context = {
        "event": event,
        "segment": segment,
        "spot": spot,
        "form": form,
        "may_edit": may_edit_lineup(viewer, event),
        **pictures_of(request, event, seen[0], closed.dot_of(show, spot), seen[1]),
    }
    return render(request, "closing/close_up.html", context)


def _initial(line: list[str], sets: tuple[str, ...]) -> dict[str, Any]:
    return {"line": ", ".join(line), "sets": sets}


def _saved(viewer: Viewer, event: Event, form: Form, save: Callable[[], ShowVersion]) -> bool:
    """Whether it was saved; after the cut-off only the director may."""
    refuse_past_cut_off(viewer, event)
    return save_through(form, save) is not None


def _show_of(segment: Segment) -> Show:
    if segment.show is None:
        raise Refused(f"{segment} has no show: no line to close up.")
    return segment.show


@page(rules.staff, MENU)
def cut_show(request: HttpRequest, viewer: Viewer, pk: int, show_pk: int) -> HttpResponse:
    """Sets that fall away at the event: the jump from the last that stays to the next."""
    event = event_of(viewer, pk)
    show = get_object_or_404(Show.objects.filter(segments__event=event).distinct(), pk=show_pk)
    labels = [s.label for s in closed.version_at(event, show).sets.all()]
    form = CutForm(labels, request.POST or None, initial={"counts": USUAL_COUNTS})
    context: dict[str, Any] = {
        "event": event,
        "show": show,
        "form": form,
        "may_edit": may_edit_lineup(viewer, event),
        "enough": len(labels) > 2,
    }
    if request.method == "POST" and form.is_valid():
        told = {"event": event, "show": show, **form.cleaned_data}
        if request.POST.get("what") == "preview":
            changed = save_through(form, lambda: closed.cut_down(**told))
            context |= jump_of(event, changed, told["first"]) if changed else {}
        elif _saved(viewer, event, form, lambda: services.cut_show(actor=viewer.signed_in, **told)):
            done(request, f"{show} is cut for {event}. Publish to tell everybody.")
            return redirect("event-drill", pk=event.pk)
    return render(request, "closing/cut.html", context)


@require_POST
@page(rules.staff, MENU)
def undo(request: HttpRequest, viewer: Viewer, pk: int, show_pk: int) -> HttpResponse:
    """Take the newest change of the event's drill back, or restore what was before it."""
    event = editable_event(viewer, pk)
    show = get_object_or_404(Show, pk=show_pk, season=viewer.this_season)
    seen = whole_number(request.POST.get("newest", ""))
    if request.POST.get("what") == "restore":
        services.restore(actor=viewer.signed_in, event=event, show=show, seen=seen)
        done(request, f"{show} is restored for {event}. Publish to tell everybody.")
    else:
        services.undo_change(actor=viewer.signed_in, event=event, show=show, seen=seen)
        done(request, f"The change of {show} is taken back.")
    return redirect(reverse("event-drill", args=[event.pk]))
