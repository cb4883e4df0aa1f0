"""Absences: staff's list, reports by members and rank leaders."""

from __future__ import annotations

import uuid
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import record_view
from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, back, page
from bandops.lib.web.posted import posted_key, posted_time
from drill.absences import queries
from drill.absences.enums import AbsenceState
from drill.absences.filters import AbsenceFilters
from drill.absences.forms import RankReportForm, ReportForm, StaffReportForm, default_event
from drill.absences.models import Absence
from drill.absences.rules import may_withdraw
from drill.absences.services import absences as services
from drill.absences.services import written
from roster.people import queries as people_queries
from roster.people.models import Season
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries

MENU = "absences"
LONGEST_LINE = 200
A_PAGE = 20
KEPT = ("event", "segment", "from_date", "until_date")
"""what “Save and enter another” keeps"""


@page(rules.staff, MENU)
def absence_list(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What is to be decided, then everything, latest first."""
    season = viewer.this_season
    entries = queries.absences(season)
    filters = AbsenceFilters.of(request, entries.exclude(state=AbsenceState.REPORTED))
    record_view(viewer.signed_in, "absences_absence", "list", "absence reasons")
    context = {
        "to_decide": entries.filter(state=AbsenceState.REPORTED),
        "filters": filters,
        "entries": page_of(request, filters.rows, A_PAGE),
    }
    return render(request, "absences/list.html", context)


@page(rules.staff, MENU)
def new_absence(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Staff enter who is out."""
    season = viewer.this_season
    initial = {"member": request.GET.get("member"), **_kept_from_last(request, season)}
    form = StaffReportForm(season, request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        report = form.report(form.cleaned_data["member"])
        saved = save_through(
            form,
            lambda: services.report_once(
                actor=viewer.signed_in,
                report=report,
                by_staff=True,
                key=posted_key(request),
                noted_at=posted_time(request),
            ),
        )
        if saved is not None:
            entry = saved[0]
            _tell(request, saved, f"{entry.member}: {entry.get_kind_display()}. Saved.")
            if request.POST.get("again"):
                kept = {name: form.data.get(name, "") for name in KEPT}
                return redirect(f"{reverse('absence-new')}?{urlencode(kept)}")
            return (
                redirect("proposal", pk=entry.event_id) if entry.event_id else redirect("absences")
            )
    context = {"form": form, "back": reverse("absences"), "key": uuid.uuid4()}
    return render(request, "absences/new.html", context)


def _kept_from_last(request: HttpRequest, season: Season) -> dict[str, Any]:
    """When the entry before was about, where somebody enters one after another; else the event it
    is most likely about."""
    if "event" not in request.GET:
        return {"event": default_event(season)}
    return {name: request.GET.get(name, "") for name in KEPT}


@require_POST
@page(rules.staff, MENU)
def written_absence(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A line as staff got it, read into the form; neither the line nor anything is saved."""
    season = viewer.this_season
    text = request.POST.get("line", "").strip()[:LONGEST_LINE]
    if not text:
        raise Refused("Write who is out and when, such as “Rivera out thru Thurs”.")
    member, reading = written.read_line(season, text)
    place, doubt = written.place_in_form(season, reading)
    initial = {"member": member, **written.initial_of(reading), **place}
    form = StaffReportForm(season, initial=initial)
    doubts = [*(() if member else ["Who is it? Choose the member."]), *reading.doubts]
    doubts += [doubt] if doubt else []
    context = {
        "form": form,
        "back": reverse("absences"),
        "key": uuid.uuid4(),
        "line": text,
        "doubts": doubts,
    }
    return render(request, "absences/new.html", context)


def _tell(request: HttpRequest, saved: tuple[Absence, bool], text: str) -> None:
    """What was done; of a form that was sent before, what became of it."""
    absence, is_new = saved
    done(request, text if is_new else f"This was already sent; it is {absence.state} now.")


@require_POST
@page(rules.staff, MENU)
def decide(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Confirm or decline a report."""
    absence = get_object_or_404(Absence, pk=pk, member__season=viewer.this_season)
    confirm = request.POST.get("decision") == "confirm"
    services.decide_absence(actor=viewer.signed_in, absence=absence, confirm=confirm)
    done(request, f"{absence.member}: {'confirmed' if confirm else 'declined'}.")
    return back(request, "absences")


@require_POST
@page(rules.belongs, MENU)
def withdraw(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Take an entry back."""
    absence = get_object_or_404(Absence, pk=pk, member__season=viewer.this_season)
    if absence.reported_by_id == viewer.signed_in.pk and not may_withdraw(viewer, absence):
        raise Refused("Staff just decided this one: talk to them.")
    allow(may_withdraw(viewer, absence))
    services.withdraw_absence(actor=viewer.signed_in, absence=absence)
    done(request, "The entry is withdrawn.")
    return back(request, "home")


@page(rules.staff, MENU)
def member_absences(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A member's entries, for staff."""
    member = get_object_or_404(people_queries.members(viewer.this_season), pk=pk)
    record_view(viewer.signed_in, "people_member", member.pk, "absence reasons")
    context = {
        "member": member,
        "entries": queries.absences(viewer.this_season).filter(member=member),
    }
    fragment = request.htmx  # type: ignore[attr-defined]
    template = "absences/of_member.html" if fragment else "absences/member.html"
    return render(request, template, context)


@page(rules.member, "my-absences")
def my_absences(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A member reports and sees their own."""
    season, me = viewer.this_season, viewer.member
    assert me is not None
    form = ReportForm(season, request.POST or None, initial={"event": default_event(season)})
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.report_once(
                actor=viewer.signed_in,
                report=form.report(me),
                by_staff=False,
                key=posted_key(request),
                noted_at=posted_time(request),
            ),
        )
        if saved is not None:
            _tell(request, saved, "Reported. Staff can see it and will decide.")
            return redirect("my-absences")
    entries = [(a, may_withdraw(viewer, a)) for a in queries.absences(season).filter(member=me)]
    own = [(a, can) for a, can in entries if a.reported_by == viewer.user]
    others = [(a, can) for a, can in entries if a.reported_by != viewer.user]
    context = {
        "form": form,
        "key": uuid.uuid4(),
        "lists": [("What I reported", own), ("What others entered for me", others)],
    }
    return keep_copy(viewer, render(request, "absences/mine.html", context))


@page(rules.rank_leader, "my-rank")
def rank_report(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A rank leader reports somebody of the rank; no reason is asked or kept."""
    season = viewer.this_season
    members = rank_queries.members_of_ranks(viewer.this_season, [r.pk for r in viewer.ranks_led])
    form = RankReportForm(
        season, members, request.POST or None, initial={"event": default_event(season)}
    )
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.report_once(
                actor=viewer.signed_in,
                report=form.report(form.cleaned_data["member"]),
                by_staff=False,
                key=posted_key(request),
                noted_at=posted_time(request),
            ),
        )
        if saved is not None:
            text = f"{saved[0].member} is reported. Staff can see it and will decide."
            _tell(request, saved, text)
            return redirect("my-rank")
    context = {
        "form": form,
        "title": "Report somebody of my rank",
        "lead": "Say only when, never why.",
        "back": reverse("my-rank"),
        "button": "Report",
        "queue": "A report about somebody of my rank",
        "key": uuid.uuid4(),
    }
    return keep_copy(viewer, render(request, "form_page.html", context))
