"""Figures of candidates and evaluators, raw beside adjusted, each page naming its method."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse

from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.pages import page
from roster.people import queries as people_queries
from roster.people.viewer import Viewer
from roster.tryouts.charts import agreement_chart, candidates_chart, evaluators_chart
from roster.tryouts.core.cut import Group
from roster.tryouts.models import Tryout
from roster.tryouts.services import checking
from roster.tryouts.services import figures as services
from roster.tryouts.services.callbacks import callback_list
from roster.tryouts.services.figures import CandidateFigure, Figures
from roster.tryouts.views.frame import MENU, show, tryout_of
from roster.tryouts.wording import FORM_WORDS, part_words, reading_words

TAB = "tryout-figures"
MOST_AT_ONCE = 60


def unsettled(
    request: HttpRequest, tryout: Tryout, found: Figures, tab: str
) -> HttpResponse | None:
    """The page instead of figures while the sheet check has something to settle, or the panels
    cannot be compared; None where figures can be shown."""
    grave = checking.check_sheets(tryout, found.judged).grave
    if not grave and found.fit is not None:
        return None
    people = dict(enumerate(found.judged.candidates))
    parts = part_words(found.linking, people) if found.linking else []
    context = {
        "findings": grave,
        "parts": parts,
        "links": [
            f"{found.judged.panelists[it.evaluator]} sees {people[it.candidate].called}"
            for it in (found.linking.links if found.linking else ())
        ],
        "lines": found.lines if parts and not grave else (),
        "looks": int(found.judged.counting.size),
    }
    return show(request, tryout, tab, "tryouts/unsettled.html", context)


@page(rules.staff, MENU)
def figures(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Every candidate's figures against the cut."""
    it = tryout_of(viewer, pk)
    found = services.figures_to_show(it)
    if (instead := unsettled(request, it, found, TAB)) is not None:
        return instead
    parts = list(people_queries.parts(it.season).filter(wanted_by__candidate__tryout=it).distinct())
    chosen = whole_number(request.GET.get("part", ""))
    if chosen is None and len(found.lines) > MOST_AT_ONCE and request.GET.get("part") != "all":
        chosen = parts[0].pk if parts else None
    lines = [it for it in found.lines if chosen is None or _wants(it, chosen)]
    context = {
        "fit": found.fit,
        "lines": sorted(lines, key=lambda it: -(it.adjusted or -1)),
        "chart": candidates_chart(it, lines, _cut(found, chosen)),
        "cut": found.cut,
        "parts": parts,
        "part": chosen,
        "close": sum(line.group is Group.CLOSE for line in found.lines),
        "draws": services.DRAWS,
    }
    return show(request, it, TAB, "tryouts/figures.html", context)


def _wants(line: CandidateFigure, part: int) -> bool:
    return any(w.part_id == part for w in line.candidate.wanted)  # type: ignore[attr-defined]


def _cut(found: Figures, part: int | None) -> float | None:
    """The lowest adjusted figure that got a spot, of a part or at all."""
    inside = [
        line.adjusted
        for line in found.lines
        if line.adjusted is not None
        and found.selection.places.get(line.candidate.pk) in ([part] if part else found.spots)
    ]
    return min(inside) if inside else None


@page(rules.staff, MENU)
def evaluators(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How severe evaluators are, how they use the scale, and how far they agree."""
    it = tryout_of(viewer, pk)
    found = services.figures_to_show(it)
    if (instead := unsettled(request, it, found, TAB)) is not None:
        return instead
    rounds = [
        (
            c,
            [(FORM_WORDS[f], a, reading_words(a)) for f, a in c.forms.items()],
        )
        for c in services.calibrations(it)
    ]
    context = {
        "fit": found.fit,
        "evaluators": found.evaluators,
        "chart": evaluators_chart(found.evaluators),
        "sessions": _session_offsets(found),
        "shares": found.shares,
        "agreement": agreement_chart(found.shares) if found.shares else None,
        "rounds": rounds,
    }
    return show(request, it, TAB, "tryouts/evaluators.html", context)


def _session_offsets(found: Figures) -> list[tuple[str, float, float]]:
    """(session, offset, standard error) where sessions are told apart."""
    if not found.tryout.sessions_differ or found.fit is None:
        return []
    of = zip(found.judged.sessions, found.fit.session_offset, found.fit.session_error, strict=True)
    return [(str(s), float(offset), float(error)) for s, offset, error in of]


@page(rules.staff, MENU)
def callbacks(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Whom to see again, and who should look."""
    it = tryout_of(viewer, pk)
    found = services.figures_to_show(it)
    if (instead := unsettled(request, it, found, TAB)) is not None:
        return instead
    asked = whole_number(request.GET.get("looks", "")) or 0
    calls = callback_list(found, asked or None)
    context = {"calls": calls, "asked": calls.looks, "draws": services.DRAWS}
    return show(request, it, TAB, "tryouts/callbacks.html", context)
