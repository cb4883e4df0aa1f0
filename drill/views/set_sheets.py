"""Set sheets of spots, as page and print, and what a member has to learn for a spot."""

from __future__ import annotations

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from drill import queries
from drill.drill_words import field_label, load_words, study_lines
from drill.models import Show, ShowVersion
from drill.rules import may_see_slip, reads_lineups
from drill.services.fundamentals import fundamentals_of
from drill.services.motion import frames_of
from drill.services.set_sheets import set_sheets, version_for
from drill.services.studies import studies, works_on
from drill.services.writing import writer_of
from drill.views.offline import keep_copy
from drill.views.revisions import file_response
from drill.views.shows import motion_of
from roster import queries as roster
from roster.models import Spot
from roster.viewer import Viewer
from roster.views.access import page

MENU = "drill"


def _version(viewer: Viewer, pk: int) -> tuple[Show, ShowVersion]:
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    version = version_for(viewer.this_season, show)
    if version is None:
        raise Http404("no coordinates yet")
    version.show = show
    return show, version


def _allow(viewer: Viewer, spot: Spot) -> None:
    """Staff, the rank's leaders, and those who hold, cover, learn or march the spot."""
    if viewer.is_staff or viewer.leads(spot.rank_id):
        return
    if viewer.member is None or not works_on(viewer.member, spot):
        raise PermissionDenied


@page(reads_lineups, MENU)
def sheet(request: HttpRequest, viewer: Viewer, pk: int, spot_pk: int) -> HttpResponse:
    """A spot's way through a show: set by set in words, and moving."""
    spot = get_object_or_404(roster.spots(viewer.this_season), pk=spot_pk)
    _allow(viewer, spot)
    show, version = _version(viewer, pk)
    writer = writer_of(viewer.this_season, show.field_type)
    made = next(iter(set_sheets(viewer.this_season, version, [spot], writer)), None)
    context: dict[str, object] = {
        "show": show,
        "field": field_label(show.field_type),
        "version": version,
        "spot": spot,
        "sheet": made,
    }
    if made is not None:
        picture = made.pictures[0]
        near = [made.place, *(dot.label for dot in picture.named)]
        context |= {
            "picture": picture,
            "note": writer.note,
            "motion": motion_of(frames_of(version, viewer.this_season), picture, near),
        }
    return keep_copy(viewer, render(request, "drill/shows/sheet.html", context))


@page(reads_lineups, MENU)
def print_sheet(request: HttpRequest, viewer: Viewer, pk: int, spot_pk: int) -> HttpResponse:
    """The same on paper."""
    spot = get_object_or_404(roster.spots(viewer.this_season), pk=spot_pk)
    _allow(viewer, spot)
    show, version = _version(viewer, pk)
    return _pdf(viewer, show, version, [spot], f"{show}, {spot}")


@page(reads_lineups, MENU)
def print_rank(request: HttpRequest, viewer: Viewer, pk: int, rank_pk: int) -> HttpResponse:
    """The sheets of a whole rank: for staff and its leaders."""
    rank = get_object_or_404(roster.ranks(viewer.this_season), pk=rank_pk)
    if not (viewer.is_staff or viewer.leads(rank.pk)):
        raise PermissionDenied
    show, version = _version(viewer, pk)
    spots = [spot for spot in roster.spots(viewer.this_season) if spot.rank_id == rank.pk]
    return _pdf(viewer, show, version, spots, f"{show}, {rank}")


def _pdf(
    viewer: Viewer, show: Show, version: ShowVersion, spots: list[Spot], title: str
) -> HttpResponse:
    from drill.pdf.set_sheets import render_set_sheets

    content = render_set_sheets(viewer.this_season, version, spots, title)
    return file_response(content, "set-sheets.pdf", "application/pdf")


@page(reads_lineups, MENU)
def relearn(
    request: HttpRequest, viewer: Viewer, pk: int, spot_pk: int, member_pk: int
) -> HttpResponse:
    """What a member has to learn for a spot: for staff, the rank's leader and the member."""
    season = viewer.this_season
    member = get_object_or_404(roster.members(season), pk=member_pk)
    spot = get_object_or_404(roster.spots(season), pk=spot_pk)
    if not may_see_slip(viewer, member) or not (viewer.is_staff or works_on(member, spot)):
        raise PermissionDenied
    event = get_object_or_404(queries.events(season), pk=pk)
    names = {code: it.name for code, it in fundamentals_of(season).items()}
    found = [
        {
            "show": one.show,
            "words": load_words(
                one.load.new, one.load.total, one.load.largest, one.load.largest_set
            ),
            "load": one.load,
            "lacking": [names.get(code, code) for code in one.load.lacking],
            "order": study_lines(one.order, names),
        }
        for one in studies(event, member, spot)
    ]
    context = {"event": event, "member": member, "spot": spot, "studies": found}
    return render(request, "drill/shows/relearn.html", context)
