"""Published revisions: prints, notices, files, and what a page's code says."""

from __future__ import annotations

import uuid
from collections import Counter
from collections.abc import Iterable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib import mail
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.progress import Waiting, file_response, progress_of
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, back, page
from bandops.lib.web.posted import posted_time
from drill.events.models import TravelList
from drill.lineup import queries as lineup_queries
from drill.lineup.enums import LineupState
from drill.lineup.models import Lineup
from drill.lineup.posted import posted_reason, refuse_past_cut_off
from drill.lineup.rules import may_edit_lineup, past_cut_off, reads_lineups
from drill.lineup.wording import Names, level_rows
from drill.publishing import queries
from drill.publishing.enums import NoticeState
from drill.publishing.models import Notice
from drill.publishing.pdf.slips import render_slips
from drill.publishing.services.news import is_all_settled, keys_together
from drill.publishing.services.notices import (
    confirm_notice,
    not_told_after_all,
    send_again,
    send_now,
    tell_all_in_person,
    tell_in_person,
    telling_words,
)
from drill.publishing.services.print_jobs import add_print, add_print_jobs, group_of
from drill.publishing.services.print_kinds import is_for_all
from drill.publishing.services.revising import go_back
from drill.publishing.services.slips import count_slips
from drill.publishing.views.publishing import notice_context
from drill.publishing.wording import notice_sentences
from roster.people import queries as people_queries
from roster.people.enums import Paper
from roster.people.services.printable import lacking_letters
from roster.people.viewer import Viewer
from roster.ranks.models import Spot
from roster.ranks.rules import leads_member, may_see_slip

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
        "newest": lineup_queries.published(lineup.event),
        "may_edit": may_edit_lineup(viewer, lineup.event),
        "cut_off_passed": past_cut_off(lineup.event),
        "notices": [(n, notice_sentences(n.content, names)) for n in notices],
        "states": sorted(Counter(n.get_state_display() for n in notices).items()),
        "waiting": _waiting(notices),
        "papers": Paper.choices,
        "slip_count": count_slips(lineup.event),
        "lacking": lacking_letters(viewer.this_season),
        "levels": level_rows(lineup),
        **notice_context(lineup.change_notice or {}, names, lambda spot: ranks.get(spot, "")),
        **_progress(lineup),
    }
    response = render(request, "publishing/revision.html", context)
    return keep_copy(viewer, response, _series(lineup), lineup.number)


@page(rules.staff, MENU)
def progress(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How far the prints and notices are; asks again until all is done."""
    lineup = _lineup(viewer, pk)
    context = {"lineup": lineup, **_progress(lineup)}
    return render(request, "publishing/progress.html", context)


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
    made = go_back(
        actor=viewer.signed_in, event=lineup.event, to=lineup, reason=posted_reason(request)
    )
    done(
        request,
        f"Revision {made.number} is published with the spots of revision {lineup.number}. "
        f"{telling_words(made)}",
    )
    return redirect("revision", pk=made.pk)


@require_POST
@page(rules.staff, MENU)
def notices_now(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Do not wait for the end of the quiet hours."""
    lineup = _lineup(viewer, pk)
    count = send_now(actor=viewer.signed_in, lineup=lineup)
    many = f"{count} notice{' is' if count == 1 else 's are'} on their way."
    done(request, many if mail.leaves() else mail.why_none())
    return redirect("revision", pk=pk)


@require_POST
@page(rules.staff, MENU)
def notices_again(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Mail whom no notice has reached once more: everybody, or the one that is named."""
    lineup = _lineup(viewer, pk)
    missed = [n.pk for n in queries.unreached(lineup)]
    one = whole_number(request.POST.get("notice", ""))
    wanted = missed if one is None else [one]
    notices = Notice.objects.filter(pk__in=set(wanted) & set(missed))
    count = send_again(actor=viewer.signed_in, notices=notices)
    done(request, f"{count} notice{'' if count == 1 else 's'} will be emailed again.")
    return redirect("revision", pk=pk)


@require_POST
@page(rules.member, "card")
def confirm(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A member has read what changed for them."""
    notice = get_object_or_404(Notice.objects.select_related("lineup"), pk=pk, member=viewer.member)
    news = request.POST.get("news", "")
    read = confirm_notice(actor=viewer.signed_in, notice=notice, at=posted_time(request), news=news)
    more = "" if is_all_settled(read) else " There is newer news: read it below."
    done(request, f"Thanks: staff can see you read revision {read.lineup.number}.{more}")
    return redirect("card-of", pk=notice.lineup.event_id)


def _progress(lineup: Lineup) -> dict[str, Any]:
    found = progress_of(group_of(lineup))
    is_newest = queries.is_newest(lineup)
    if not is_newest:
        found["files"] = [f for f in found["files"] if not _has_slips(f)]
    notices = queries.notices_to(lineup)
    missed = queries.unreached_among(notices)
    together = keys_together(notices) if is_newest else {}
    return {
        **found,
        "to_tell": [(n, together.get(n.member_id, n.news_key)) for n in missed],
        "unreached": missed,
        "unreached_by_rank": queries.by_rank(missed, lineup.event.season),
        "told": queries.told_notices(lineup),
    }


def _has_slips(artifact: Artifact) -> bool:
    return artifact.filename.startswith("slips")


@require_POST
@page(rules.staff, MENU)
def request_prints(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """More prints: the other paper, only the changed pages, or spot cards."""
    lineup = _lineup(viewer, pk)
    paper, only = request.POST.get("paper", ""), request.POST.get("only", "")
    if paper not in Paper.values or only not in ("", "changes", "cards"):
        raise Refused("Choose a paper size.")
    with recorded(viewer.signed_in, "ask for prints"):
        if only == "cards":
            add_print(lineup, "cards", paper)
        else:
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
    news = request.POST.get("news", "")
    tell_in_person(actor=viewer.signed_in, notice=notice, at=posted_time(request), news=news)
    done(request, f"{notice.member} was told in person.")
    return back(request, "home")


@require_POST
@page(rules.staff, MENU)
def told_several(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Several members were told in person: those that are checked, or all of a rank; or it is
    taken back for those that are checked."""
    lineup = _lineup(viewer, pk)
    ids = [whole_number(text) for text in request.POST.getlist("notice")]
    if request.POST.get("undo"):
        known = [n.pk for n in queries.told_notices(lineup) if n.pk in ids]
        count = not_told_after_all(
            actor=viewer.signed_in, notices=Notice.objects.filter(pk__in=known)
        )
        done(request, f"Taken back for {_people(count)}: not reached yet.")
        return redirect("revision", pk=pk)
    missed = queries.unreached(lineup)
    rank = whole_number(request.POST.get("rank", ""))
    if rank is not None:
        groups = queries.by_rank(missed, viewer.this_season)
        ids = [n.pk for led, group in groups if led and led.pk == rank for n in group]
    wanted = {n.pk for n in missed} & set(ids)
    if not wanted:
        raise Refused("Check off who you told.")
    count = tell_all_in_person(actor=viewer.signed_in, notices=Notice.objects.filter(pk__in=wanted))
    done(request, f"{_people(count)} told in person.")
    return redirect("revision", pk=pk)


def _people(count: int) -> str:
    return "1 person" if count == 1 else f"{count} people"


@page(reads_lineups, MENU)
def file(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A print: of a published lineup, which says only what is published, or of a travel list,
    which is for staff."""
    artifact, of = get_object_or_404(Artifact, pk=pk), None
    kind, _, number = artifact.group.partition(":")
    if kind == "travel":
        allow(viewer.is_staff)
        get_object_or_404(TravelList, pk=number, event__season=viewer.this_season)
    elif kind == "lineup":
        lineups = Lineup.objects.filter(event__season=viewer.this_season)
        of = get_object_or_404(lineups, pk=number, state=LineupState.PUBLISHED)
        allow(viewer.is_staff or is_for_all(artifact.filename))
        if _has_slips(artifact) and not queries.is_newest(of):
            raise Refused("These slips are from an older revision: print the new ones instead.")
    else:
        raise Http404
    response = file_response(artifact.file.read(), artifact.filename, artifact.content_type)
    return (
        keep_copy(viewer, response, _series(of), of.number) if of else keep_copy(viewer, response)
    )


def _series(lineup: Lineup) -> str:
    """A phone keeps the newest revision of each event."""
    return f"revisions of event {lineup.event_id}"


@page(reads_lineups, MENU)
def slip(request: HttpRequest, viewer: Viewer, pk: int, member_pk: int) -> HttpResponse:
    """One person's slip, by the newest revision: for staff, the rank's leader and the person."""
    lineup = _lineup(viewer, pk)
    member = get_object_or_404(people_queries.members(viewer.this_season), pk=member_pk)
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
    return render(request, "publishing/code.html", context)


def _lineup(viewer: Viewer, pk: int) -> Lineup:
    return get_object_or_404(
        Lineup.objects.select_related("event__season", "published_by"),
        pk=pk,
        event__season=viewer.this_season,
        state=LineupState.PUBLISHED,
    )
