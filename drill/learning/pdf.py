"""Set sheets: a spot's way through a show on paper."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.template.loader import render_to_string

from bandops.lib.pdf.render import render_pdf
from bandops.lib.pdf.stamps import moment_of
from drill.field.services.writing import writer_of
from drill.field.wording import field_label
from drill.learning.services.set_sheets import SetSheet, close_picture, set_sheets
from drill.shows.models import ShowVersion
from drill.shows.pictures.picture import Picture
from drill.shows.services.motion import frames_of
from roster.people.models import Season
from roster.ranks.models import Spot

PICTURES = 6
"""on a sheet: the first set and the longest ways"""
RATIO = 2.85
"""of a picture's width to its height, as the style sheet has them"""


def render_set_sheets(
    season: Season,
    version: ShowVersion,
    spots: Sequence[Spot],
    title: str,
    holders: Mapping[int, str] | None = None,
) -> bytes:
    """PDF bytes, each spot on a page of its own. ``holders``: spot id -> name to hand it to."""
    writer = writer_of(season, version.show.field_type)
    frames = frames_of(version, season)
    sheets = []
    for sheet in set_sheets(frames, version, spots, writer):
        shown = [close_picture(frames, index, sheet.dot, writer) for index in chosen(sheet)]
        sheets.append(
            {
                "sheet": sheet,
                "holder": (holders or {}).get(sheet.spot.pk, ""),
                "pictures": [(picture.title, picture_image(picture)) for picture in shown],
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
        paper=season.paper,
        title=title,
        zone=season.zone,
    )


def chosen(sheet: SetSheet) -> list[int]:
    """Which frames are pictured: the first set, and those with the longest ways, as the show
    goes."""
    first, *others = sheet.sets
    longest = sorted(others, key=lambda one: (-one.distance, one.index))[: PICTURES - 1]
    return sorted({first.index, *(one.index for one in longest)})


def picture_image(picture: Picture) -> str:
    """The picture as a data address: an image costs a print far less than drawing in the page."""
    on_paper = replace(picture, larger=1.7, written=2.3, ratio=RATIO)
    context: dict[str, Any] = {"picture": on_paper, "on_paper": True}
    svg = render_to_string("shows/drawing.html", context)
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}"
