"""Attendance: staff's summary, a rank's list on the phone, one tap a note."""

from __future__ import annotations

import uuid
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST
from django_htmx.http import HttpResponseClientRefresh

from bandops.lib.errors import Refused
from bandops.lib.web.messages import done, refuse
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, back, page
from bandops.lib.web.posted import posted_row
from drill.events.models import Event
from drill.events.posted import event_of
from drill.rehearsals.charts import attendance_chart
from drill.rehearsals.enums import AttendanceState
from drill.rehearsals.forms import NoteForm, RestForm
from drill.rehearsals.posted import menu_of, ranks_for
from drill.rehearsals.rules import leads_rehearsals, may_note, may_settle
from drill.rehearsals.services.attendance import Line, RankAttendance, attendance_of, rank_at
from drill.rehearsals.services.attendance_notes import note_attendance, note_rest_here
from drill.rehearsals.services.rehearsals import is_open, opens_words
from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank


@dataclass(frozen=True)
class Row:
    """A member's line with the key of the next note and whether that one settles."""

    line: Line
    key: uuid.UUID
    settles: bool


@dataclass(frozen=True)
class Sheet:
    """A rank's list."""

    of: RankAttendance
    key: uuid.UUID
    rows: tuple[Row, ...]


@page(leads_rehearsals)
def attendance(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Who is here, rank by rank; without a rank, staff's summary."""
    event = event_of(viewer, pk)
    ranks = ranks_for(viewer, request.GET.get("rank", ""))
    if not ranks:
        return _summary(request, viewer, event)
    context = {
        "menu": menu_of(viewer),
        "event": event,
        "open": is_open(event),
        "opens": opens_words(event),
        "sheets": [_sheet(viewer, rank) for rank in attendance_of(event, ranks)],
        "states": AttendanceState.choices,
        "ranks": Rank.objects.filter(season=viewer.this_season) if viewer.is_staff else (),
    }
    return keep_copy(viewer, render(request, "rehearsals/rank.html", context))


def _sheet(viewer: Viewer, rank: RankAttendance) -> Sheet:
    return Sheet(rank, uuid.uuid4(), tuple(_row(viewer, rank.rank, x) for x in rank.lines))


def _row(viewer: Viewer, rank: Rank, line: Line) -> Row:
    return Row(line, uuid.uuid4(), line.differs and may_settle(viewer, rank))


def _summary(request: HttpRequest, viewer: Viewer, event: Event) -> HttpResponse:
    """By rank; what differs first, then who is not here though nothing was reported."""
    every = attendance_of(event, rank_queries.ranks(viewer.this_season))
    lines = [(rank.rank, line) for rank in every for line in rank.lines]
    context = {
        "menu": menu_of(viewer),
        "event": event,
        "open": is_open(event),
        "opens": opens_words(event),
        "ranks": [rank for rank in every if rank.lines],
        "differing": [pair for pair in lines if pair[1].differs],
        "unexplained": [pair for pair in lines if pair[1].unexplained],
        "chart": attendance_chart(event, [rank for rank in every if rank.lines]),
    }
    return render(request, "rehearsals/summary.html", context)


@require_POST
@page(leads_rehearsals)
def note(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One note about one member."""
    event = event_of(viewer, pk)
    try:
        rank, member = _note(request, viewer, event)
    except Refused as error:
        return _refused(request, error)
    if not request.htmx:  # type: ignore[attr-defined]
        if request.POST.get("next"):
            done(request, f"{member} is marked.")
            return back(request)
        return _back(viewer, event, rank, f"#m{member.pk}")
    [sheet] = attendance_of(event, [rank])
    line = next(x for x in sheet.lines if x.member == member)
    context = {
        "event": event,
        "open": True,
        "row": _row(viewer, rank, line),
        "sheet": Sheet(sheet, uuid.uuid4(), ()),
        "states": AttendanceState.choices,
        "apart": True,
    }
    return render(request, "rehearsals/noted.html", context)


def _note(request: HttpRequest, viewer: Viewer, event: Event) -> tuple[Rank, Member]:
    told = NoteForm(request.POST).told()
    members = Member.objects.filter(season=viewer.this_season)
    member = posted_row(members, str(told["member"]), "member")
    rank = rank_at(event, member)
    allow(may_note(viewer, rank.pk if rank else None))
    if rank is None:
        raise Refused(f"{member} was in no rank that day.")
    note_attendance(
        actor=viewer.signed_in,
        event=event,
        member=member,
        state=told["state"],
        key=told["key"],
        noted_at=told["noted_at"],
        settles=told["settles"] and may_settle(viewer, rank),
    )
    return rank, member


@require_POST
@page(leads_rehearsals)
def rest(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Everybody else of the rank is here."""
    event = event_of(viewer, pk)
    told = RestForm(request.POST).told()
    ranks = Rank.objects.filter(season=viewer.this_season)
    rank = posted_row(ranks, str(told["rank"]), "rank")
    allow(may_note(viewer, rank.pk))
    count = note_rest_here(
        actor=viewer.signed_in,
        event=event,
        rank=rank,
        key=told["key"],
        noted_at=told["noted_at"],
    )
    done(request, f"{rank}: {count} marked here.")
    return _back(viewer, event, rank, "")


def _refused(request: HttpRequest, error: Refused) -> HttpResponse:
    """A fragment cannot show a message: the whole page comes again with it."""
    if not request.htmx:  # type: ignore[attr-defined]
        raise error
    refuse(request, error)
    return HttpResponseClientRefresh()


def _back(viewer: Viewer, event: Event, rank: Rank, where: str) -> HttpResponse:
    asked = f"?rank={rank.pk}" if viewer.is_staff else ""
    return redirect(f"{reverse('attendance', args=[event.pk])}{asked}{where}")
