"""Two versions of a show, compared."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.pages import page
from drill.shows.core.version_changes import Comparison, DotMove
from drill.shows.models import Show, ShowVersion
from drill.shows.queries import with_occasions
from drill.shows.services import comparing as services
from drill.shows.services.comparing import DotLine
from drill.shows.views.tabs import tabs_of
from drill.shows.wording import decimal_steps, pair_words, summary_words
from roster.people.viewer import Viewer

MENU = "drill"
WAYS = {"set": "by set", "dot": "by dot", "person": "by person"}


@page(rules.staff, MENU)
def compare(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What differs between two chosen versions; the last two where none are chosen."""
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    known = with_occasions(show.versions.all())
    before = _chosen(request, "before", known, -2)
    after = _chosen(request, "after", known, -1)
    by = request.GET.get("by", "")
    context: dict[str, Any] = {
        "show": show,
        "tabs": tabs_of(show, "Versions"),
        "versions": known,
        "before": before,
        "after": after,
        "by": by if by in WAYS else "set",
        "ways": WAYS,
    }
    if before and after:
        found = services.compare_versions(before, after)
        context |= {"found": found, "summary": summary_words(found)}
        if context["by"] == "set":
            context["sets"] = set_lines(found)
        else:
            season = viewer.this_season
            day = min(max(season.today(), season.starts), season.ends)
            lines = services.dot_lines(found, season, show.pk, day)
            context["lines"] = [_dot(found, line) for line in lines]
    return render(request, "shows/compare.html", context)


def _chosen(
    request: HttpRequest, name: str, known: list[ShowVersion], otherwise: int
) -> ShowVersion | None:
    wanted = lib_forms.whole_number(request.GET.get(name, ""))
    default = known[otherwise] if len(known) >= -otherwise else None
    return next((v for v in known if v.pk == wanted), default)


def set_lines(found: Comparison) -> list[dict[str, Any]]:
    """Each set with a difference: what became of it, who moved, who was rounded."""
    moved, rounded = _by_pair(found.moved), _by_pair(found.rounded)
    lines = []
    for index in range(len(found.pairs)):
        line = {
            "label": found.label(index),
            "words": pair_words(found, index),
            "moved": [(m.dot, decimal_steps(m.distance)) for m in moved[index]],
            "rounded": [m.dot for m in rounded[index]],
            "added": [dot for pair, dot in found.added if pair == index],
            "gone": [dot for pair, dot in found.gone if pair == index],
        }
        if any(line[name] for name in ("words", "moved", "rounded", "added", "gone")):
            lines.append(line)
    return lines


def _by_pair(moves: Iterable[DotMove]) -> dict[int, list[DotMove]]:
    found: dict[int, list[DotMove]] = defaultdict(list)
    for move in moves:
        found[move.pair].append(move)
    return found


def _dot(found: Comparison, line: DotLine) -> dict[str, Any]:
    return {
        "of": line,
        "moved": [(found.label(m.pair), decimal_steps(m.distance)) for m in line.moved],
        "rounded": [found.label(m.pair) for m in line.rounded],
        "added": [found.label(pair) for pair in line.added],
        "gone": [found.label(pair) for pair in line.gone],
    }
