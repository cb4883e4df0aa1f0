"""Dates: events, segments, who must travel."""

from __future__ import annotations

import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.template.defaultfilters import pluralize
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.dates import day_words, in_reach
from bandops.lib.ties import merged
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.events import queries
from drill.events.forms import CopyForm, EventForm, MustTravelForm, SegmentForm
from drill.events.models import Event, Segment
from drill.events.services import events as services
from drill.events.services.copying import not_taken_along
from drill.events.services.events import set_must_travel
from drill.events.services.refield import shows_elsewhere
from drill.events.ties import EVENT_LIST, EVENT_PAGE
from drill.field.wording import field_label
from drill.shows.models import Show
from roster.people.viewer import Viewer

MENU = "events"
WEEK = datetime.timedelta(weeks=1)


@page(rules.staff, MENU)
def events(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """All events; the published revision beside each."""
    season = viewer.this_season
    numbers = merged(EVENT_LIST.ask(season))
    rows = [(e, numbers.get(e.pk)) for e in queries.events(season)]
    now = timezone.now()
    context = {
        "coming": [r for r in rows if not r[0].is_over(now)],
        "past": [r for r in rows if r[0].is_over(now)],
        "shows": Show.objects.filter(season=season),
        "has_earlier": queries.of_earlier_seasons(season).exists(),
    }
    return render(request, "events/list.html", context)


@page(rules.staff, MENU)
def event(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """An event with its segments; a new segment is added here."""
    it = _event(viewer, pk)
    form = SegmentForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.save_segment(actor=viewer.signed_in, segment=form.instance),
        )
        if saved is not None:
            done(request, f"{saved} is added.")
            return redirect("event", pk=pk)
    context: dict[str, Any] = {
        "event": it,
        "form": form,
        "must": it.must_travel.select_related("person"),
        "field": field_label(it.field_type),
        "elsewhere": shows_elsewhere(it),
    }
    context |= merged(EVENT_PAGE.ask(it))
    return render(request, "events/event.html", context)


@page(rules.staff, MENU)
def edit_event(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A new event, or changes of one."""
    season = viewer.this_season
    it = _event(viewer, pk) if pk else Event(season=season)
    form = EventForm(season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: services.save_event(actor=viewer.signed_in, event=form.instance)
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("event", pk=saved.pk)
    url = reverse("event", args=[pk]) if pk else reverse("events")
    context = {"form": form, "title": f"Change {it}" if pk else "New event", "back": url}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_event(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove an event for which nothing was published."""
    it = _event(viewer, pk)
    with_draft = services.remove_event(actor=viewer.signed_in, event=it)
    gone = ", and so is the draft of its lineup, which was never published" if with_draft else ""
    done(request, f"{it} is removed{gone}.")
    return redirect("events")


@page(rules.staff, MENU)
def edit_segment(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change a segment."""
    it = get_object_or_404(
        Segment.objects.select_related("event"), pk=pk, event__season=viewer.this_season
    )
    form = SegmentForm(it.event, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.save_segment(actor=viewer.signed_in, segment=form.instance),
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("event", pk=saved.event_id)
    context = {
        "form": form,
        "title": f"{it.event}: {it}",
        "back": reverse("event", args=[it.event_id]),
    }
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_segment(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove a segment that no lineup uses."""
    it = get_object_or_404(Segment, pk=pk, event__season=viewer.this_season)
    services.remove_segment(actor=viewer.signed_in, segment=it)
    done(request, f"{it} is removed.")
    return redirect("event", pk=it.event_id)


@page(rules.staff, MENU)
def copy_event(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The event once more, by default next week."""
    it = _event(viewer, pk)
    context = {
        "title": f"Copy {it}",
        "button": "Copy",
        "back": reverse("event", args=[pk]),
    }
    return _copied(request, viewer, it, it.date + WEEK if in_reach(it.date) else None, context)


@page(rules.staff, MENU)
def like_earlier(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The events of earlier seasons, each to be set up again in this one."""
    found = queries.of_earlier_seasons(viewer.this_season)
    return render(request, "events/earlier.html", {"events": page_of(request, found)})


@page(rules.staff, MENU)
def set_up_again(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """An event of an earlier season in this one: its times, segments, blocks and uniform."""
    it = get_object_or_404(queries.of_earlier_seasons(viewer.this_season), pk=pk)
    context = {
        "title": f"Like {it} of {it.season}",
        "lead": "With its times, segments, blocks and uniform. Shows are found by name.",
        "button": "Set it up",
        "back": reverse("events-earlier"),
    }
    return _copied(request, viewer, it, None, context)


def _copied(
    request: HttpRequest,
    viewer: Viewer,
    it: Event,
    day: datetime.date | None,
    context: dict[str, Any],
) -> HttpResponse:
    """The form of a copy in this season, and the copy."""
    form = CopyForm(request.POST or None, initial={"name": it.name, "date": day})
    if request.method == "POST" and form.is_valid():
        actor, season, data = viewer.signed_in, viewer.this_season, form.cleaned_data
        made = save_through(
            form, lambda: services.copy_event(actor=actor, event=it, season=season, **data)
        )
        if made is not None:
            told = [f"{made} on {day_words(made.date)} is made.", *not_taken_along(it, made)]
            done(request, "\n".join(told))
            return redirect("event", pk=made.pk)
    return render(request, "form_page.html", context | {"form": form})


@page(rules.staff, MENU)
def must_travel(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Who comes along in any case."""
    it = _event(viewer, pk)
    form = MustTravelForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        chosen = form.chosen

        def save() -> bool:
            set_must_travel(actor=viewer.signed_in, event=it, members=chosen)
            return True

        if save_through(form, save):
            done(request, f"{len(chosen)} member{pluralize(len(chosen))} must travel.")
            return redirect("must-travel", pk=pk)
    context = {
        "form": form,
        "title": f"Who must travel to {it}",
        "lead": "They come along, marching or not. "
        f"Limit: {it.travel_limit or 'none'}; marchers and these people stay within it.",
        "back": reverse("event", args=[pk]),
    }
    return render(request, "form_page.html", context)


def _event(viewer: Viewer, pk: int) -> Event:
    return get_object_or_404(queries.events(viewer.this_season), pk=pk)
