"""Set sheets: a spot's way through a show on paper."""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from django.template.loader import render_to_string
from django.utils import timezone

from bandops.lib.pdf.render import render_pdf
from drill.drill_words import field_label
from drill.models import ShowVersion
from drill.pictures import Picture
from drill.services.set_sheets import SetSheet, set_sheets
from drill.services.writing import writer_of
from roster.models import Season, Spot

PICTURES = 6
"""on a sheet: the first set and the longest ways"""


def render_set_sheets(
    season: Season,
    version: ShowVersion,
    spots: Sequence[Spot],
    title: str,
    holders: Mapping[int, str] | None = None,
) -> bytes:
    """PDF bytes, each spot on a page of its own. ``holders``: spot id -> name to hand it to."""
    writer = writer_of(season, version.show.field_type)
    sheets = [
        {
            "sheet": sheet,
            "holder": (holders or {}).get(sheet.spot.pk, ""),
            "pictures": [(p.title, picture_image(p)) for p in chosen(sheet)],
        }
        for sheet in set_sheets(season, version, spots, writer)
    ]
    moment = timezone.localtime()
    context = {
        "sheets": sheets,
        "version": version,
        "field": field_label(version.show.field_type),
        "note": writer.note,
        "stamp": f"{version.show}, version {version.label}",
        "stamp_detail": f"printed {moment:%a %d %b %Y %H:%M %Z}",
    }
    return render_pdf("drill/print/set_sheets.html", context, paper=season.paper, title=title)


def chosen(sheet: SetSheet) -> list[Picture]:
    """The first set, and those with the longest ways, as the show goes."""
    longest = sorted(range(1, len(sheet.pictures)), key=lambda i: (-_length(sheet.pictures[i]), i))
    return [sheet.pictures[i] for i in sorted({0, *longest[: PICTURES - 1]})]


def _length(picture: Picture) -> int:
    return max(((a.x - b.x) ** 2 + (a.y - b.y) ** 2 for a, b in picture.ways), default=0)


def picture_image(picture: Picture) -> str:
    """The picture as a data address: an image costs a print far less than drawing in the page."""
    context: dict[str, Any] = {"picture": replace(picture, larger=1.7), "on_paper": True}
    svg = render_to_string("drill/parts/picture.html", context)
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}"
