"""What the desk's forms sent."""

from __future__ import annotations

import re

from django.http import HttpRequest, QueryDict

from bandops.lib.errors import Refused
from bandops.lib.web.forms import whole_number
from bandops.lib.web.posted import posted_key, posted_row, posted_time
from drill.gameday.services.desk import Wish
from drill.gameday.services.swaps import Swap
from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.ranks.models import Spot

INCOMPLETE = "The form is incomplete: open the desk again."


def posted_wish(request: HttpRequest, viewer: Viewer) -> Wish:
    """Who goes out or which open spot, and who steps in."""
    out, spot = _member(request, viewer, "out"), None
    if out is None:
        text = request.POST.get("spot", "")
        if not text:
            raise Refused(INCOMPLETE)
        rows = Spot.objects.filter(rank__season=viewer.this_season).select_related("rank")
        spot = posted_row(rows, text, "spot")
    return Wish(
        out,
        _member(request, viewer, "in"),
        _member(request, viewer, "mover"),
        _seen(request),
        posted_key(request),
        posted_time(request),
        asked_segments(request.POST),
        spot,
        _moves(request.POST.get("moves", "")),
    )


def posted_swap(request: HttpRequest, viewer: Viewer) -> Swap:
    first, second = _member(request, viewer, "first"), _member(request, viewer, "second")
    if first is None or second is None:
        raise Refused("Choose two people.")
    segments = asked_segments(request.POST)
    seen, at = _seen(request), posted_time(request)
    return Swap(first, second, seen, posted_key(request), segments, at)


def asked_segments(sent: QueryDict) -> frozenset[int]:
    """Ids of the segments that a form or an address names: one a field, or several with commas."""
    texts = [text for field in sent.getlist("segments") for text in field.split(",") if text]
    numbers = [whole_number(text) for text in texts]
    if None in numbers:
        raise Refused(INCOMPLETE)
    return frozenset(n for n in numbers if n is not None)


def _seen(request: HttpRequest) -> int:
    seen = whole_number(request.POST.get("number", ""))
    if seen is None:
        raise Refused(INCOMPLETE)
    return seen


def _member(request: HttpRequest, viewer: Viewer, name: str) -> Member | None:
    text = request.POST.get(name, "")
    rows = Member.objects.filter(season=viewer.this_season).select_related("person")
    return posted_row(rows, text, "member") if text else None


def _moves(text: str) -> frozenset[tuple[str, str, str]] | None:
    """What the button said: 'segment.spot.member …' in ids; None where it said nothing."""
    if not text:
        return None
    if not re.fullmatch(r"\d+\.\d+\.\d+( \d+\.\d+\.\d+)*", text):
        raise Refused(INCOMPLETE)
    rows = (move.split(".") for move in text.split(" "))
    return frozenset((g, s, m) for g, s, m in rows)
