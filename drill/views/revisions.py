"""Published revisions: prints, notices, files, and what a page's code says."""

from __future__ import annotations

import datetime
import uuid
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import MAX_ATTEMPTS
from bandops.lib.web.messages import done
from drill import queries
from drill.enums import LineupState, NoticeState
from drill.models import Lineup, Notice, TravelList
from drill.rules import leads_member, may_see_slip, reads_lineups
from drill.services.notices import confirm_notice, send_now, tell_in_person
from drill.services.problem_builder import key
from drill.services.publishing import add_print_jobs, group_of
from drill.services.revising import go_back
from drill.views.common import refuse_past_cut_off
from drill.views.lineup import level_rows
from drill.views.publishing import notice_context
from drill.wording import Names, notice_sentences
from roster import queries as roster
from roster import rules
from roster.enums import Paper
from roster.models import Spot
from roster.viewer import Viewer
from roster.views.access import allow, back, page

MENU = "lineup"


@page(rules.staff, MENU)
def revision(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A revision with its change notice, prints and who was reached."""
    lineup = _lineup(viewer, pk)
    names = Names(lineup.event.season_id)
    ranks = {key(s.pk): key(s.rank_id) for s in Spot.objects.filter(rank__season=viewer.season)}
    notices = lineup.notices.select_related("member__person", "told_by")
    context: dict[str, Any] = {
        "lineup": lineup,
        "event": lineup.event,
        "newest": queries.published(lineup.event),
        "notices": [(n, notice_sentences(n.content, names)) for n in notices],
        "states": sorted(Counter(n.get_state_display() for n in notices).items()),
        "waiting": _waiting(notices),
        "papers": Paper.choices,
        "levels": level_rows(lineup),
        **notice_context(lineup.change_notice or {}, names, lambda spot: ranks.get(spot, "")),
        **_progress(lineup),
    }
    return render(request, "drill/revisions/revision.html", context)


@page(rules.staff, MENU)
def progress(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How far the prints and notices are; asks again until all is done."""
    lineup = _lineup(viewer, pk)
    context = {"lineup": lineup, **_progress(lineup)}
    return render(request, "drill/revisions/progress.html", context)


@dataclass(frozen=True)
class Waiting:
    """Notices that keep the quiet hours."""

    count: int
    until: datetime.datetime


def _waiting(notices: Iterable[Notice]) -> Waiting | None:
    times = [
        n.not_before for n in notices if n.not_before is not None and n.state == NoticeState.WAITING
    ]
    return Waiting(len(times), max(times)) if times else None


@require_POST
@page(rules.staff, MENU)
def again(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Publish this earlier revision's places again."""
    lineup = _lineup(viewer, pk)
    refuse_past_cut_off(viewer, lineup.event)
    made = go_back(actor=viewer.signed_in, event=lineup.event, to=lineup)
    done(
        request, f"Revision {made.number} is published with the places of revision {lineup.number}."
    )
    return redirect("revision", pk=made.pk)


@require_POST
@page(rules.staff, MENU)
def notices_now(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Do not wait for the end of the quiet hours."""
    lineup = _lineup(viewer, pk)
    count = send_now(actor=viewer.signed_in, lineup=lineup)
    done(request, f"{count} notices are on their way.")
    return redirect("revision", pk=pk)


@require_POST
@page(rules.member, "card")
def confirm(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A member has read what changed for them."""
    notice = get_object_or_404(Notice.objects.select_related("lineup"), pk=pk, member=viewer.member)
    confirm_notice(actor=viewer.signed_in, notice=notice)
    done(request, "Thank you: the staff see that you know.")
    return redirect("card-of", pk=notice.lineup.event_id)


def _progress(lineup: Lineup) -> dict[str, Any]:
    return {**progress_of(group_of(lineup)), "unreached": queries.unreached(lineup)}


def progress_of(group: str) -> dict[str, Any]:
    """How far the jobs of a group are, and the files they made, as templates show it."""
    jobs = list(Job.objects.filter(group=group))
    undone = [job for job in jobs if job.done_at is None]
    now = timezone.now()
    open_jobs = [job for job in undone if job.not_before is None or job.not_before <= now]
    given_up = [job for job in open_jobs if job.attempts >= MAX_ATTEMPTS]
    return {
        "jobs": len(jobs),
        "jobs_done": len(jobs) - len(undone),
        "jobs_waiting": len(undone) - len(open_jobs),
        "jobs_open": len(open_jobs) - len(given_up),
        "jobs_failed": [job for job in open_jobs if job.error and job not in given_up],
        "jobs_given_up": given_up,
        "files": Artifact.objects.filter(group=group),
    }


@require_POST
@page(rules.staff, MENU)
def request_prints(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """More prints: the other paper, or only the changed pages."""
    lineup = _lineup(viewer, pk)
    paper, only = request.POST.get("paper", ""), request.POST.get("only", "")
    if paper not in Paper.values or only not in ("", "changes"):
        raise Refused("Choose a paper.")
    with recorded(viewer.signed_in, "ask for prints"):
        add_print_jobs(lineup, paper, only)
    done(request, "The prints are being made.")
    return redirect("revision", pk=pk)


@require_POST
@page(rules.belongs, MENU)
def told(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A member was told in person, by staff or by their rank's leader."""
    notice = get_object_or_404(
        Notice.objects.select_related("member__person"),
        pk=pk,
        lineup__event__season=viewer.this_season,
    )
    allow(viewer.is_staff or leads_member(viewer, notice.member))
    tell_in_person(actor=viewer.signed_in, notice=notice)
    done(request, f"{notice.member} was told in person.")
    return back(request, "home")


@page(reads_lineups, MENU)
def file(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A print: of a published lineup, which says only what is published, or of a travel list,
    which is for staff."""
    artifact = get_object_or_404(Artifact, pk=pk)
    kind, _, number = artifact.group.partition(":")
    if kind == "travel":
        allow(viewer.is_staff)
        get_object_or_404(TravelList, pk=number, event__season=viewer.this_season)
    elif kind == "lineup":
        lineups = Lineup.objects.filter(event__season=viewer.this_season)
        get_object_or_404(lineups, pk=number, state=LineupState.PUBLISHED)
        allow(viewer.is_staff or not artifact.filename.startswith("slips"))
    else:
        raise Http404
    return file_response(artifact.file.read(), artifact.filename, artifact.content_type)


def file_response(content: bytes, filename: str, content_type: str) -> HttpResponse:
    """A file to look at."""
    response = HttpResponse(content, content_type=content_type)
    response["Content-Disposition"] = f'inline; filename="{filename}"'
    return response


@page(reads_lineups, MENU)
def slip(request: HttpRequest, viewer: Viewer, pk: int, member_pk: int) -> HttpResponse:
    """One person's slip: for staff, the rank's leader and the person."""
    from drill.pdf.slips import render_slips

    lineup = _lineup(viewer, pk)
    member = get_object_or_404(roster.members(viewer.this_season), pk=member_pk)
    allow(may_see_slip(viewer, member))
    content = render_slips(lineup, [member], viewer.this_season.paper)
    return file_response(content, "slip.pdf", "application/pdf")


@page(rules.anyone)
def code(request: HttpRequest, viewer: Viewer, code: uuid.UUID) -> HttpResponse:
    """Whether a printed page is current; no names, no event."""
    lineup = get_object_or_404(Lineup, code=code, state=LineupState.PUBLISHED)
    newest = Lineup.objects.filter(event=lineup.event_id, state=LineupState.PUBLISHED)
    number = newest.order_by("-number").values_list("number", flat=True).first()
    context = {"current": number == lineup.number, "number": number}
    return render(request, "drill/revisions/code.html", context)


def _lineup(viewer: Viewer, pk: int) -> Lineup:
    return get_object_or_404(
        Lineup.objects.select_related("event__season", "published_by"),
        pk=pk,
        event__season=viewer.this_season,
        state=LineupState.PUBLISHED,
    )
