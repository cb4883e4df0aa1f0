"""Shows: their sets as pictures and tables, count by count, and which dot each spot marches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.names import label_key
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from bandops.lib.web.posted import posted_row
from drill.field.services.writing import Writer, writer_of
from drill.field.wording import field_label
from drill.shows import queries
from drill.shows.core.motion import Frame, Point, at_count, nearest, way
from drill.shows.models import Show, ShowVersion
from drill.shows.pictures.picture import Picture
from drill.shows.pictures.shown import DrawnDot
from drill.shows.queries import dots_of, versions_in_use, with_occasions
from drill.shows.services import shows as services
from drill.shows.services.motion import Player, SetRow, frames_of, motion_of
from drill.shows.views.tabs import tabs_of
from drill.shows.wording import way_text
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot

MENU = "drill"
NEIGHBOURS = 6


@page(rules.staff, MENU)
def shows(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The season's shows, and where else the drill is kept."""
    season = viewer.this_season
    rows = list(Show.objects.filter(season=season))
    versions = versions_in_use({show.pk for show in rows})
    sizes = queries.version_sizes(versions.values())
    lines = []
    for show in rows:
        version = versions.get(show.pk)
        size = sizes.get(version.pk, queries.NO_SIZE) if version else None
        field = field_label(show.field_type)
        lines.append({"show": show, "version": version, "size": size, "field": field})
    return render(request, "shows/list.html", {"lines": lines})


@dataclass(frozen=True)
class Asked:
    """What of a show is looked at: a set, so many counts into the way to it, and whom."""

    frames: Sequence[Frame]
    index: int
    count: int
    named: tuple[str, ...]
    me: str | None

    @property
    def frame(self) -> Frame:
        return self.frames[self.index]


@page(rules.staff, MENU)
def show(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A show: a set as a picture and a table, whole, by rank or around a dot."""
    it = get_object_or_404(Show.objects.select_related("season"), pk=pk, season=viewer.this_season)
    versions = with_occasions(it.versions.order_by("order"))
    current = versions_in_use({it.pk}).get(it.pk)
    wanted = lib_forms.whole_number(request.GET.get("version", ""))
    version = next((v for v in versions if v.pk == wanted), current)
    if version is not None:
        version.show = it
    spots = list(rank_queries.spots(it.season))
    dots = dots_of(it.pk, spots)
    context: dict[str, object] = {
        "show": it,
        "field": field_label(it.field_type),
        "version": version,
        "current": current,
        "versions": versions,
        "ranks": list(rank_queries.ranks(it.season)),
        "tabs": tabs_of(it, "Picture", version),
    }
    if version is not None:
        context |= _look(request, version, spots, dots, writer_of(it.season, it.field_type))
    if request.headers.get("HX-Request"):
        return render(request, "shows/frame.html", context)
    return render(request, "shows/show.html", context)


def _look(
    request: HttpRequest,
    version: ShowVersion,
    spots: list[Spot],
    dots: dict[int, str],
    writer: Writer,
) -> dict[str, object]:
    frames = frames_of(version, version.show.season)
    if not frames:
        return {}
    asked = _asked(request, frames, spots, dots)
    here = at_count(frames, asked.index, asked.count)
    shown = asked.named or tuple(sorted(here, key=label_key))
    lines = [
        (
            label,
            writer.across(here[label][0]),
            writer.depth(here[label][1]),
            _way(asked, label, writer),
        )
        for label in shown
        if label in here
    ]
    return {
        "frames": frames,
        "frame": asked.frame,
        "player": Player(
            frames, asked.index, asked.count, address=reverse("motion", args=[version.pk])
        ),
        "rows": _set_rows(asked, writer),
        "by_dot": asked.me is not None,
        "caption": f"{asked.me}, set by set" if asked.me else "Sets",
        "picture": picture_of(f"{version.show}", asked, here, writer),
        "lines": lines,
        "note": writer.note,
        "rank": lib_forms.whole_number(request.GET.get("rank", "")) if asked.named else None,
        "near_spot": next((s for s in spots if asked.me and dots[s.pk] == asked.me), None),
        "near": asked.me or "",
        "total_counts": sum(frame.counts for frame in frames),
    }


def _asked(
    request: HttpRequest, frames: Sequence[Frame], spots: list[Spot], dots: dict[int, str]
) -> Asked:
    """The set, count and group of the address; what does not exist is left out."""
    label = request.GET.get("set", "")
    index = next((i for i, frame in enumerate(frames) if frame.label == label), 0)
    frame = frames[index]
    count = lib_forms.whole_number(request.GET.get("count", ""))
    count = frame.counts if count is None else min(max(count, 0), frame.counts)
    near, chosen = request.GET.get("near", ""), request.GET.get("rank", "")
    if near in frame.points and not chosen:
        return Asked(frames, index, count, (near, *nearest(frame.points, near, NEIGHBOURS)), near)
    rank = lib_forms.whole_number(chosen)
    mine = [dots[spot.pk] for spot in spots if spot.rank_id == rank]
    return Asked(frames, index, count, tuple(p for p in mine if p in frame.points), None)


def _set_rows(asked: Asked, writer: Writer) -> list[SetRow]:
    """All sets; with a dot's coordinates those it stands in."""
    rows = []
    for index, frame in enumerate(asked.frames):
        words = ("", "", "")
        if asked.me is not None:
            if asked.me not in frame.points:
                continue
            x, y = frame.points[asked.me]
            there = way(asked.frames, index, asked.me)
            said = way_text(there, writer.style) if there else ""
            words = (writer.across(x), writer.depth(y), said)
        rows.append(SetRow(frame.label, frame.is_subset, frame.counts, frame.tempo, *words))
    return rows


def picture_of(title: str, asked: Asked, here: dict[str, Point], writer: Writer) -> Picture:
    """The set with the dots asked for drawn dark, close up, with the way they come."""
    named = [label for label in asked.named if label in here]
    start = at_count(asked.frames, asked.index, 0) if asked.index else {}
    text = f"{title}, set {asked.frame.label}"
    if asked.count < asked.frame.counts:
        text += f", after count {asked.count} of {asked.frame.counts}"
    if asked.me:
        text += f": {asked.me} and those around"
    return Picture(
        writer.kind,
        tuple(DrawnDot(*here[label], label) for label in here if label not in named),
        me=DrawnDot(*here[asked.me], asked.me) if asked.me in here else None,
        title=text,
        named=tuple(DrawnDot(*here[label], label) for label in named if label != asked.me),
        ways=tuple(
            (DrawnDot(*start[label]), DrawnDot(*here[label])) for label in named if label in start
        ),
        close=bool(named),
        from_field=writer.style.from_field,
    )


def _way(asked: Asked, label: str, writer: Writer) -> str:
    found = way(asked.frames, asked.index, label)
    return "" if found is None else way_text(found, writer.style)


@page(rules.staff, MENU)
def motion(request: HttpRequest, viewer: Viewer, pk: int) -> JsonResponse:
    """Every set's points in picture units, for the moving picture."""
    version = get_object_or_404(
        ShowVersion.objects.select_related("show"), pk=pk, show__season=viewer.this_season
    )
    writer = writer_of(viewer.this_season, version.show.field_type)
    field = Picture(writer.kind, (), from_field=writer.style.from_field)
    return JsonResponse(motion_of(frames_of(version, viewer.this_season), field))


@require_POST
@page(rules.staff, MENU)
def map_dot(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Let a spot march another dot, or its own again."""
    it = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    dot_id = request.POST.get("dot", "")
    spot = posted_row(rank_queries.spots(viewer.this_season), request.POST.get("spot", ""), "spot")
    dot = posted_row(it.dots.all(), dot_id, "dot") if dot_id else None
    services.map_dots(actor=viewer.signed_in, show=it, dots={spot: dot})
    done(request, f"{spot} marches {dot or 'the dot of its own label'} in {it}.")
    return redirect("dots", pk=pk)
