"""Where dots stand, by hand: a set's positions, and one dot across its sets."""

from __future__ import annotations

from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from bandops.lib.names import label_key
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.field.services.entering import entry_of
from drill.field.wording import rounding_sentence
from drill.shows.forms.positions import Line, PositionsForm
from drill.shows.models import Position, ShowVersion
from drill.shows.services.move_checks import Checked, check_version, new_warnings
from drill.shows.services.positions import save_positions
from drill.shows.ties import published_versions
from drill.shows.views.tabs import tabs_of
from drill.shows.views.versions import MENU, set_of
from drill.shows.wording import finding_words
from roster.people.viewer import Viewer

WARNED = 3
"""new warnings said one by one"""
A_PAGE = 25
"""rows to write in: each page is saved by itself"""


@page(rules.staff, MENU)
def set_positions(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Everybody's coordinate in one set, as a table to write in."""
    it = set_of(viewer, pk)
    stored = {p.dot_id: (p.x, p.y) for p in Position.objects.filter(set=it)}
    dots = sorted(it.version.show.dots.all(), key=lambda dot: label_key(dot.label))
    lines = [Line((it.pk, dot.pk), dot.label, stored.get(dot.pk)) for dot in dots]
    links = {dot.label: reverse("dot-positions", args=[it.version_id, dot.pk]) for dot in dots}
    order = list(it.version.sets.order_by("order").values_list("pk", "label"))
    at = next(n for n, (number, _) in enumerate(order) if number == it.pk)
    context = {
        "title": f"Version {it.version.label}, set {it.label}",
        "what": "Dot",
        "links": links,
        "before": order[at - 1] if at else None,
        "after": order[at + 1] if at + 1 < len(order) else None,
    }
    return _table(request, viewer, it.version, lines, context)


@page(rules.staff, MENU)
def dot_positions(request: HttpRequest, viewer: Viewer, pk: int, dot_pk: int) -> HttpResponse:
    """One dot in all sets of a version, as a table to write in."""
    found = ShowVersion.objects.select_related("show__season")
    version = get_object_or_404(found, pk=pk, show__season=viewer.this_season)
    dot = get_object_or_404(version.show.dots, pk=dot_pk)
    rows = Position.objects.filter(set__version=version, dot=dot)
    stored = {p.set_id: (p.x, p.y) for p in rows}
    sets = list(version.sets.order_by("order"))
    lines = [Line((s.pk, dot.pk), s.label, stored.get(s.pk)) for s in sets]
    context = {
        "title": f"Version {version.label}, dot {dot.label}",
        "what": "Set",
        "links": {s.label: reverse("set-positions", args=[s.pk]) for s in sets},
        "counts": {s.label: s.counts for s in sets},
    }
    return _table(request, viewer, version, lines, context)


def _table(
    request: HttpRequest,
    viewer: Viewer,
    version: ShowVersion,
    lines: list[Line],
    context: dict[str, Any],
) -> HttpResponse:
    entry = entry_of(viewer.this_season, version.show.field_type)
    page_of = Paginator(lines, A_PAGE).get_page(request.GET.get("page"))
    lines = list(page_of.object_list)
    form = PositionsForm(entry, lines, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        before = check_version(version, viewer.this_season)
        changed = save_through(
            form,
            lambda: save_positions(
                actor=viewer.signed_in, version=version, points=form.points, seen=form.seen
            ),
        )
        if changed is not None:
            lines_said = [f"{changed} dot{'s' if changed != 1 else ''} changed."]
            if form.off_field:
                lines_said.append(f"Off the field: {', '.join(form.off_field)}.")
            lines_said += _warned(before, check_version(version, viewer.this_season))
            done(request, "\n".join(lines_said))
            return redirect(request.get_full_path())
    context |= {
        "version": version,
        "show": version.show,
        "tabs": tabs_of(version.show, "Sets" if context["what"] == "Dot" else "Dots", version),
        "form": form,
        "page": page_of,
        "writer": entry.writer,
        "used": version.pk in published_versions(viewer.this_season.pk),
        "rows": [
            {
                "line": line,
                "link": context["links"][line.title],
                "counts": context.get("counts", {}).get(line.title),
                "across": form[f"across-{line.key}"],
                "depth": form[f"depth-{line.key}"],
                "note": rounding_sentence(*entry.writer.error(*line.point)) if line.point else "",
            }
            for line in lines
        ],
    }
    return render(request, "shows/positions.html", context)


def _warned(before: Checked, after: Checked) -> list[str]:
    """What the change makes impossible or too close, said at once: most often a slip."""
    found = new_warnings(before, after)
    said = [
        f"New warning, set {after.drill.sets[f.at].label}, {finding_words(f, after.drill)}."
        for f in found[:WARNED]
    ]
    if found[WARNED:]:
        said.append(f"And {len(found) - WARNED} more new warnings: check the moves.")
    return said
