"""Field pictures in prints."""

from __future__ import annotations

import base64

from django.template.loader import render_to_string

from drill.shows.pictures.paper import DISC, SMALL, PaperPicture


def paper_image(picture: PaperPicture) -> str:
    """The picture as a data address: an image costs a print far less than drawing in the page."""
    context = {
        "picture": picture,
        "mm": [side / 10 for side in picture.size],
        "small": 2 * SMALL,
        "disc": 2 * DISC,
    }
    svg = render_to_string("shows/paper.html", context)
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}"
