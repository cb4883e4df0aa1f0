"""A spot's way through a show, set by set, for its page and its print."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drill.events import queries as event_queries
from drill.field.services.writing import Writer
from drill.lineup import queries as lineup_queries
from drill.shows.core.motion import Frame, nearest, way
from drill.shows.models import Path, Show, ShowVersion
from drill.shows.pictures.picture import Picture
from drill.shows.pictures.shown import DrawnDot
from drill.shows.queries import dots_of
from drill.shows.wording import way_text
from roster.people.models import Season
from roster.ranks.models import Spot

NEIGHBOURS = 4


@dataclass(frozen=True)
class SheetSet:
    """One set of a sheet in words; ``words`` are those of its path, where somebody wrote them.
    ``index`` is its place among the frames, ``distance`` the length of the way (1/32 inch)."""

    index: int
    distance: float
    label: str
    is_subset: bool
    counts: int
    tempo: int | None
    across: str
    depth: str
    way: str
    words: str


@dataclass(frozen=True)
class SetSheet:
    """A spot's sheet; ``dot`` is the label it marches in this show."""

    spot: Spot
    dot: str
    sets: tuple[SheetSet, ...]


def version_for(season: Season, show: Show) -> ShowVersion | None:
    """The version that the next event's newest published lineup was made for; before there is
    one, the version in use."""
    event = event_queries.next_event(season)
    lineup = lineup_queries.published(event) if event else None
    pk = lineup.show_versions.get(str(show.pk)) if lineup else None
    kept = ShowVersion.objects.filter(pk=pk, show=show).first() if pk else None
    return kept or event_queries.current_versions({show.pk}).get(show.pk)


def set_sheets(
    frames: Sequence[Frame], version: ShowVersion, spots: Sequence[Spot], writer: Writer
) -> list[SetSheet]:
    """A sheet a spot that stands in the version, whose ``frames`` these are (two queries)."""
    dots = dots_of(version.show_id, spots)
    rows = Path.objects.filter(set__version=version, dot__label__in=set(dots.values()))
    words = {
        (label, dot): text or "a curve, not described"
        for label, dot, text in rows.values_list("set__label", "dot__label", "words")
    }
    made = (_sheet(frames, spot, dots[spot.pk], writer, words) for spot in spots)
    return [sheet for sheet in made if sheet.sets]


def _sheet(
    frames: Sequence[Frame],
    spot: Spot,
    dot: str,
    writer: Writer,
    words: dict[tuple[str, str], str],
) -> SetSheet:
    lines = []
    for index, frame in enumerate(frames):
        if dot not in frame.points:
            continue
        x, y = frame.points[dot]
        found = way(frames, index, dot)
        lines.append(
            SheetSet(
                index,
                found.distance if found else 0.0,
                frame.label,
                frame.is_subset,
                frame.counts,
                frame.tempo,
                writer.across(x),
                writer.depth(y),
                way_text(found, writer.style) if found else "",
                words.get((frame.label, dot), ""),
            )
        )
    return SetSheet(spot, dot, tuple(lines))


def close_picture(frames: Sequence[Frame], index: int, dot: str, writer: Writer) -> Picture:
    """A dot in a set with its nearest neighbours and the way it comes."""
    frame = frames[index]
    near = nearest(frame.points, dot, NEIGHBOURS)
    before = frames[index - 1].points.get(dot) if index else None
    me = DrawnDot(*frame.points[dot], dot)
    return Picture(
        writer.kind,
        tuple(DrawnDot(*frame.points[label], label) for label in frame.points if label != dot),
        me=me,
        title=f"Set {frame.label}: {dot} and those around",
        named=tuple(DrawnDot(*frame.points[label], label) for label in near),
        ways=((DrawnDot(*before), me),) if before else (),
        close=True,
        from_field=writer.style.from_field,
    )
