"""Set sheets: a spot's way through a show on paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bandops.lib.pdf.render import render_pdf
from bandops.lib.pdf.stamps import moment_of
from drill.field.services.writing import Writer, writer_of
from drill.field.wording import field_label
from drill.learning.services.set_sheets import NEIGHBOURS, SetSheet, set_sheets
from drill.shows.core.motion import Frame, nearest
from drill.shows.models import ShowVersion
from drill.shows.pdf import paper_image
from drill.shows.pictures.paper import PaperPicture
from drill.shows.pictures.shown import DrawnDot
from drill.shows.services.motion import frames_of
from roster.people.models import Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank, Spot

PICTURES = 6
"""on a sheet: the first set and the longest ways"""
MANY_SETS = 26
"""a sheet of more sets has half as many pictures, to keep to its page"""
WIDE, HIGH = 600, 250
"""of a picture, in tenths of a millimetre"""


def render_set_sheets(
    season: Season,
    version: ShowVersion,
    spots: Sequence[Spot],
    title: str,
    holders: Mapping[int, str] | None = None,
    paper: str = "",
) -> bytes:
    """PDF bytes, each spot on a page of its own. ``holders``: spot id -> name to hand it to;
    ``paper`` where it is not the season's."""
    writer = writer_of(season, version.show.field_type)
    frames = frames_of(version, season)
    sheets = []
    for sheet in set_sheets(frames, version, spots, writer):
        shown = [paper_picture(frames, index, sheet.dot, writer) for index in chosen(sheet)]
        sheets.append(
            {
                "sheet": sheet,
                "holder": (holders or {}).get(sheet.spot.pk, ""),
                "pictures": [(picture, paper_image(picture)) for picture in shown],
            }
        )
    context = {
        "sheets": sheets,
        "version": version,
        "field": field_label(version.show.field_type),
        "note": writer.note,
        "stamp": f"{version.show}, version {version.label}",
        "stamp_detail": f"printed {moment_of(season.time_zone)}",
    }
    return render_pdf(
        "learning/print/set_sheets.html",
        context,
        paper=paper or season.paper,
        title=title,
        zone=season.zone,
    )


def render_rank_sheets(rank: Rank, version: ShowVersion, paper: str) -> bytes:
    """The sheets of a whole rank, to be handed to today's holders."""
    season = rank.season
    spots = list(rank_queries.spots(season).filter(rank=rank))
    held = rank_queries.holders_on(season, season.today())
    names = {m.pk: m.name for m in rank_queries.members_of_ranks(season, [rank.pk])}
    holders = {spot.pk: names.get(held.get(spot.pk, 0), "") for spot in spots}
    return render_set_sheets(season, version, spots, f"{version.show}, {rank}", holders, paper)


def chosen(sheet: SetSheet) -> list[int]:
    """Which frames are pictured: the first set, and those with the longest ways, as the show
    goes."""
    first, *others = sheet.sets
    count = PICTURES if len(sheet.sets) <= MANY_SETS else PICTURES // 2
    longest = sorted(others, key=lambda one: (-one.distance, one.index))[: count - 1]
    return sorted({first.index, *(one.index for one in longest)})


def paper_picture(frames: Sequence[Frame], index: int, dot: str, writer: Writer) -> PaperPicture:
    """A dot in a set with its nearest neighbours and the way it comes."""
    frame = frames[index]
    near = nearest(frame.points, dot, NEIGHBOURS)
    before = frames[index - 1].points.get(dot) if index else None
    return PaperPicture(
        writer.kind,
        WIDE,
        tuple(DrawnDot(x, y) for label, (x, y) in frame.points.items() if label not in near),
        me=DrawnDot(*frame.points[dot], dot),
        named=tuple(DrawnDot(*frame.points[label], label) for label in near),
        before=DrawnDot(*before) if before else None,
        title=f"Set {frame.label}: {dot} and those around",
        from_field=writer.style.from_field,
        height=HIGH,
    )
