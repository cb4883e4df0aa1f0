"""Set sheets of spots, as page and print, and what a member has to learn for a spot."""

from __future__ import annotations

import uuid

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify

from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.progress import file_response
from bandops.lib.web import rules
from bandops.lib.web.forms import KeyedForm
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, page
from drill.events import queries as event_queries
from drill.field.services.writing import writer_of
from drill.field.wording import field_label
from drill.learning.charts import far_chart
from drill.learning.pdf import render_set_sheets
from drill.learning.services.set_sheets import close_picture, set_sheets, version_for
from drill.learning.services.sheet_jobs import ask_for_sheets, progress_of_sheets, read_key
from drill.learning.services.studies import studies, work_on
from drill.learning.services.study_words import fundamental_names, in_words
from drill.lineup.rules import reads_lineups
from drill.shows.models import Show, ShowVersion
from drill.shows.services.motion import Player, frames_of, motion_of
from roster.people import queries as people_queries
from roster.people.services.printable import lacking_letters
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank, Spot
from roster.ranks.rules import may_see_slip

MENU = "drill"


def _version(viewer: Viewer, pk: int) -> tuple[Show, ShowVersion]:
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    version = version_for(viewer.this_season, show)
    if version is None:
        raise Http404("no coordinates yet")
    version.show = show
    return show, version


def _allow(viewer: Viewer, spot: Spot) -> None:
    """Staff, the rank's leaders, and those who hold, back up, learn or march the spot, with their
    own leaders."""
    if viewer.is_staff or viewer.leads(spot.rank_id):
        return
    led = [rank.pk for rank in viewer.ranks_led]
    concerned = list(rank_queries.members_of_ranks(viewer.this_season, led)) if led else []
    if viewer.member is not None:
        concerned.append(viewer.member)
    if not work_on(concerned, spot):
        raise PermissionDenied


@page(reads_lineups, MENU)
def sheet(request: HttpRequest, viewer: Viewer, pk: int, spot_pk: int) -> HttpResponse:
    """A spot's way through a show: set by set in words, and moving."""
    spot = get_object_or_404(rank_queries.spots(viewer.this_season), pk=spot_pk)
    _allow(viewer, spot)
    show, version = _version(viewer, pk)
    writer = writer_of(viewer.this_season, show.field_type)
    frames = frames_of(version, viewer.this_season)
    made = next(iter(set_sheets(frames, version, [spot], writer)), None)
    context: dict[str, object] = {
        "show": show,
        "field": field_label(show.field_type),
        "version": version,
        "spot": spot,
        "sheet": made,
    }
    if made is not None:
        asked = request.GET.get("set", "")
        index = next((s.index for s in made.sets if s.label == asked), made.sets[0].index)
        picture = close_picture(frames, index, made.dot, writer)
        near = [made.dot, *(dot.label for dot in picture.named)]
        motion = motion_of(frames, picture, near)
        context |= {
            "picture": picture,
            "note": writer.note,
            "player": Player(frames, index, frames[index].counts, motion=motion),
        }
    return keep_copy(viewer, render(request, "learning/sheet.html", context))


@page(reads_lineups, MENU)
def print_sheet(request: HttpRequest, viewer: Viewer, pk: int, spot_pk: int) -> HttpResponse:
    """The same on paper."""
    spot = get_object_or_404(rank_queries.spots(viewer.this_season), pk=spot_pk)
    _allow(viewer, spot)
    show, version = _version(viewer, pk)
    title = f"{show}, {spot}"
    content = render_set_sheets(viewer.this_season, version, [spot], title)
    return file_response(content, f"{slugify(title)}.pdf", "application/pdf")


@page(rules.staff, MENU)
def sheets(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The set sheets of the whole band: ask for them, see how far they are, open the files."""
    return _sheets(request, viewer, pk, None)


@page(reads_lineups, MENU)
def sheets_of_rank(request: HttpRequest, viewer: Viewer, pk: int, rank_pk: int) -> HttpResponse:
    """The same of one rank: for staff and its leaders."""
    rank = get_object_or_404(rank_queries.ranks(viewer.this_season), pk=rank_pk)
    allow(viewer.is_staff or viewer.leads(rank.pk))
    return _sheets(request, viewer, pk, rank)


def _sheets(request: HttpRequest, viewer: Viewer, pk: int, rank: Rank | None) -> HttpResponse:
    season = viewer.this_season
    show = get_object_or_404(Show, pk=pk, season=season)
    if request.method == "POST":
        told = KeyedForm(request.POST).told()
        ask_for_sheets(actor=viewer.signed_in, season=season, show=show, rank=rank, key=told["key"])
        done(request, f"The set sheets of {rank or 'all ranks'} are being made.")
        return redirect(request.path)
    context = {
        "show": show,
        "rank": rank,
        "version": version_for(season, show),
        "key": uuid.uuid4(),
        "lacking": lacking_letters(season),
        **progress_of_sheets(show, rank),
    }
    return render(request, "learning/sheets.html", context)


@page(reads_lineups, MENU)
def sheets_file(request: HttpRequest, viewer: Viewer, pk: int, file_pk: int) -> HttpResponse:
    """A rank's set sheets, for staff and its leaders."""
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    made = get_object_or_404(Artifact, pk=file_pk)
    about = read_key(made.key)
    if about is None or about.show != show.pk:
        raise Http404
    allow(viewer.is_staff or viewer.leads(about.rank))
    response = file_response(made.file.read(), made.filename, made.content_type)
    return keep_copy(viewer, response)


@page(reads_lineups, MENU)
def relearn(
    request: HttpRequest, viewer: Viewer, pk: int, spot_pk: int, member_pk: int
) -> HttpResponse:
    """What a member has to learn for a spot: for staff, the rank's leader and the member."""
    season = viewer.this_season
    member = get_object_or_404(people_queries.members(season), pk=member_pk)
    spot = get_object_or_404(rank_queries.spots(season), pk=spot_pk)
    if not may_see_slip(viewer, member) or not (viewer.is_staff or work_on([member], spot)):
        raise PermissionDenied
    event = get_object_or_404(event_queries.events(season), pk=pk)
    names = fundamental_names(season)
    writer = writer_of(season, event.field_type)
    found = [
        (in_words(one, writer, names), far_chart(one, writer.style))
        for one in studies(event, member, spot)
    ]
    context = {
        "event": event,
        "member": member,
        "spot": spot,
        "studies": found,
        "note": writer.note,
    }
    return keep_copy(viewer, render(request, "learning/relearn.html", context))
