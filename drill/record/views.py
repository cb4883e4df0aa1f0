"""The marching record: confirming a performance, correcting a line, everybody's share."""

from __future__ import annotations

from collections.abc import Mapping

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from bandops.lib.errors import Refused
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done, refuse
from bandops.lib.web.pages import page
from drill.events import queries as event_queries
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.record.charts import record_chart
from drill.record.core.letters import Standing
from drill.record.enums import RecordOutcome
from drill.record.filters import ShareFilters
from drill.record.forms import CorrectionForm, LetterForm, chosen
from drill.record.models import MarchingRecord, RecordEntry
from drill.record.services import letters as letter_services
from drill.record.services import marching_record, record_lines
from drill.record.services import record as services
from drill.record.services import record_sheet as tables
from drill.record.services.record_lines import Group
from drill.record.services.record_sheet import Cell, Choice
from drill.record.ties import CHANGES_OF_THE_DAY
from drill.record.wording import letter_words
from drill.rehearsals.services.presence import own_attendance
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.people.viewer import Viewer

MENU = "record"
A_PAGE = 20


@page(rules.staff, MENU)
def record(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Past performances, confirmed or not, and everybody's share."""
    season = viewer.this_season
    shares = marching_record.shares_to_show(season)
    filters = ShareFilters.of(request, people_queries.active_members(season))
    parts = {m.pk: m.skills[0].part for m, _ in shares if m.skills}  # type: ignore[attr-defined]
    context = {
        "performances": marching_record.performances(season),
        "chart": record_chart(shares, parts),
        "filters": filters,
        "shares": page_of(request, filters.sorted(shares), A_PAGE),
    }
    return render(request, "record/list.html", context)


@page(rules.staff, MENU)
def event_record(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """An event's record: to confirm, or confirmed with their corrections."""
    event = get_object_or_404(
        event_queries.events(viewer.this_season).exclude(kind=EventKind.REHEARSAL), pk=pk
    )
    event.season = viewer.this_season
    record = (
        MarchingRecord.objects.filter(event=event).select_related("lineup", "confirmed_by").first()
    )
    if record is not None:
        record.event = event
        if request.method == "POST":
            by = f" by {record.confirmed_by}" if record.confirmed_by else ""
            raise Refused(f"The record of {event} is already confirmed{by}.")
        return _record(request, record)
    lineup = lineup_queries.published(event)
    if lineup is None or event.date > event.today():
        return render(request, "record/not_yet.html", {"event": event, "lineup": lineup})
    return _confirm(request, viewer, event, lineup)


def _record(request: HttpRequest, record: MarchingRecord) -> HttpResponse:
    ranks = record_lines.group_list(record.event.season, marching_record.record_ranks(record))
    group = _chosen_group(ranks, request.GET.get("rank"))
    context = {
        "record": record,
        "event": record.event,
        "groups": ranks,
        "group": group,
        "lines": marching_record.record_lines(record, group) if group else [],
        "changes": _changes(record.event),
    }
    return render(request, "record/record.html", context)


def _confirm(request: HttpRequest, viewer: Viewer, event: Event, lineup: Lineup) -> HttpResponse:
    choices: Mapping[Cell, Choice] = {}
    wanted = request.GET.get("rank")
    if request.method == "POST":
        choices = chosen(request.POST, event.season)
        wanted = request.POST.get("show") or request.POST.get("rank")
        if "show" not in request.POST:
            try:
                services.confirm_record(
                    actor=viewer.signed_in,
                    event=event,
                    seen_lineup=lib_forms.whole_number(request.POST.get("lineup", "")) or 0,
                    chosen=choices,
                    today=event.today(),
                )
            except Refused as error:
                refuse(request, error)
            else:
                done(request, f"The record of {event} is confirmed.")
                return redirect("record-of", pk=event.pk)
    return _sheet(request, tables.sheet(event, lineup), wanted, choices)


def _sheet(
    request: HttpRequest, it: tables.Sheet, wanted: str | None, choices: Mapping[Cell, Choice]
) -> HttpResponse:
    """One rank's lines; what was changed in others travels along hidden."""
    ranks = record_lines.group_list(it.event.season, it.ranks)
    group = _chosen_group(ranks, wanted)
    odd = record_lines.exceptions(it, choices)
    inside = group.members if group else frozenset()
    context = {
        "event": it.event,
        "lineup": it.lineup,
        "segments": it.segments,
        "groups": [(g, sum(1 for c in odd if c[1] in g.members)) for g in ranks],
        "group": group,
        "lines": record_lines.lines(it, group, odd) if group else [],
        "hidden": [
            (record_lines.name_of(c), x.value) for c, x in odd.items() if c[1] not in inside
        ],
        "tally": record_lines.tally(it, odd),
        "attendance": record_lines.attendance_tally(it),
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
    rows = marching_record.with_names(
        RecordEntry.objects.filter(record__event__season=viewer.this_season)
    )
    entry = get_object_or_404(rows, pk=pk)
    form = CorrectionForm(entry, request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        saved = save_through(
            form,
            lambda: services.correct_entry(
                actor=viewer.signed_in,
                entry=entry,
                outcome=RecordOutcome(data["outcome"]),
                spot=data["spot"],
                note=data["note"],
            ),
        )
        if saved is not None:
            done(request, f"{entry.member}, {entry.segment}: corrected.")
            return redirect("record-of", pk=entry.record.event_id)
    context = {
        "form": form,
        "title": f"{entry.member}, {entry.record.event}: {entry.segment}",
        "lead": f"The record says: {entry.now}. First confirmed as: {entry.first}.",
        "back": reverse("record-of", args=[entry.record.event_id]),
        "button": "Correct",
    }
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def letters(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who has a letter, who may just miss it, and what one takes."""
    season = viewer.this_season
    form = LetterForm(request.POST or None, instance=letter_services.rule_of(season))
    if request.method == "POST" and form.is_valid():
        actor = viewer.signed_in
        saved = save_through(
            form, lambda: letter_services.save_rule(actor=actor, rule=form.instance)
        )
        if saved is not None:
            done(request, f"{saved.needed} points make a letter.")
            return redirect("letters")
    found = letter_services.letters(season)
    rows = [(member, credit, letter_words(credit, found.left)) for member, credit in found.credits]
    near = [row for row in rows if row[1].standing == Standing.NEAR]
    context = {"found": found, "near": near, "page": page_of(request, rows, A_PAGE), "form": form}
    return render(request, "record/letters.html", context)


@page(rules.member, "my-record")
def my_record(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A member's own record and share."""
    me = viewer.member
    assert me is not None
    context = {
        "entries": marching_record.own_entries(me),
        "counts": marching_record.own_counts(me),
        "letter": _own_letter(me),
        "attendance": own_attendance(me),
    }
    return render(request, "record/mine.html", context)


def _own_letter(me: Member) -> str:
    """How a member stands towards the letter, once a rule was chosen."""
    rule, credit, left = letter_services.own_credit(me)
    return letter_words(credit, left) if rule.pk else ""
