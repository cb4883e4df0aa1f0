"""The turn book: confirming a performance, correcting a line, everybody's share."""

from __future__ import annotations

from collections.abc import Mapping

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from bandops.lib.errors import Refused
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done, refuse
from bandops.lib.web.pages import page
from drill.events import queries as event_queries
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.record.core.turns import TurnCounts
from drill.record.enums import TurnOutcome
from drill.record.forms import CorrectionForm, chosen
from drill.record.models import Turn, TurnBook
from drill.record.services import turn_book, turn_lines
from drill.record.services import turn_sheet as tables
from drill.record.services import turns as services
from drill.record.services.turn_lines import Group
from drill.record.services.turn_sheet import Cell, Choice
from drill.record.ties import CHANGES_OF_THE_DAY
from roster.people.models import Member
from roster.people.viewer import Viewer

MENU = "turns"
SORTS = {"percent": False, "-percent": True}


@page(rules.staff, MENU)
def turns(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Past performances, confirmed or not, and everybody's share."""
    season = viewer.this_season
    shares = turn_book.shares(season)
    sort = request.GET.get("sort", "")
    if sort in SORTS:
        shares.sort(key=_by_percent, reverse=SORTS[sort])
    context = {"performances": turn_book.performances(season), "shares": shares, "sort": sort}
    return render(request, "record/list.html", context)


def _by_percent(share: tuple[Member, TurnCounts]) -> int:
    return share[1].percent


@page(rules.staff, MENU)
def event_turns(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """An event's turns: to confirm, or confirmed with their corrections."""
    event = get_object_or_404(
        event_queries.events(viewer.this_season).exclude(kind=EventKind.REHEARSAL), pk=pk
    )
    event.season = viewer.this_season
    book = TurnBook.objects.filter(event=event).select_related("lineup", "confirmed_by").first()
    if book is not None:
        book.event = event
        if request.method == "POST":
            by = f" by {book.confirmed_by}" if book.confirmed_by else ""
            raise Refused(f"The turns of {event} are confirmed already{by}.")
        return _book(request, book)
    lineup = lineup_queries.published(event)
    if lineup is None or event.date > timezone.localdate(timezone=event.zone):
        return render(request, "record/not_yet.html", {"event": event, "lineup": lineup})
    return _confirm(request, viewer, event, lineup)


def _book(request: HttpRequest, book: TurnBook) -> HttpResponse:
    ranks = turn_lines.group_list(book.event.season, turn_book.book_ranks(book))
    group = _chosen_group(ranks, request.GET.get("rank"))
    context = {
        "book": book,
        "event": book.event,
        "groups": ranks,
        "group": group,
        "lines": turn_book.book_lines(book, group) if group else [],
        "changes": _changes(book.event),
    }
    return render(request, "record/book.html", context)


def _confirm(request: HttpRequest, viewer: Viewer, event: Event, lineup: Lineup) -> HttpResponse:
    choices: Mapping[Cell, Choice] = {}
    wanted = request.GET.get("rank")
    if request.method == "POST":
        choices = chosen(request.POST, event.season)
        wanted = request.POST.get("show") or request.POST.get("rank")
        if "show" not in request.POST:
            try:
                services.confirm_turns(
                    actor=viewer.signed_in,
                    event=event,
                    seen_lineup=lib_forms.whole_number(request.POST.get("lineup", "")) or 0,
                    chosen=choices,
                    today=timezone.localdate(timezone=event.zone),
                )
            except Refused as error:
                refuse(request, error)
            else:
                done(request, f"The turns of {event} are confirmed.")
                return redirect("turns-of", pk=event.pk)
    return _sheet(request, tables.sheet(event, lineup), wanted, choices)


def _sheet(
    request: HttpRequest, it: tables.Sheet, wanted: str | None, choices: Mapping[Cell, Choice]
) -> HttpResponse:
    """One rank's lines; what was changed in others travels along hidden."""
    ranks = turn_lines.group_list(it.event.season, it.ranks)
    group = _chosen_group(ranks, wanted)
    odd = turn_lines.exceptions(it, choices)
    inside = group.members if group else frozenset()
    context = {
        "event": it.event,
        "lineup": it.lineup,
        "segments": it.segments,
        "groups": [(g, sum(1 for c in odd if c[1] in g.members)) for g in ranks],
        "group": group,
        "lines": turn_lines.lines(it, group, odd) if group else [],
        "hidden": [(turn_lines.name_of(c), x.value) for c, x in odd.items() if c[1] not in inside],
        "tally": turn_lines.tally(it, odd),
        "changes": _changes(it.event),
    }
    return render(request, "record/confirm.html", context)


def _chosen_group(ranks: list[Group], wanted: str | None) -> Group | None:
    return next((g for g in ranks if g.key == wanted), ranks[0] if ranks else None)


def _changes(event: Event) -> list[tuple[object, list[str]]]:
    return [change for changes in CHANGES_OF_THE_DAY.ask(event) for change in changes]


@page(rules.staff, MENU)
def correct(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change one confirmed line, with the reason."""
    rows = turn_book.with_names(Turn.objects.filter(book__event__season=viewer.this_season))
    turn = get_object_or_404(rows, pk=pk)
    form = CorrectionForm(turn, request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        saved = save_through(
            form,
            lambda: services.correct_turn(
                actor=viewer.signed_in,
                turn=turn,
                outcome=TurnOutcome(data["outcome"]),
                spot=data["spot"],
                note=data["note"],
            ),
        )
        if saved is not None:
            done(request, f"{turn.member}, {turn.segment}: corrected.")
            return redirect("turns-of", pk=turn.book.event_id)
    context = {
        "form": form,
        "title": f"{turn.member}, {turn.book.event}: {turn.segment}",
        "lead": f"The book says: {turn.now}. Confirmed at first: {turn.first}.",
        "back": reverse("turns-of", args=[turn.book.event_id]),
        "button": "Correct",
    }
    return render(request, "form_page.html", context)


@page(rules.member, "my-turns")
def my_turns(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A member's own turns and share."""
    me = viewer.member
    assert me is not None
    context = {"turns": turn_book.own_turns(me), "counts": turn_book.own_counts(me)}
    return render(request, "record/mine.html", context)
