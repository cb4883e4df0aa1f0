"""The words of a set's moves against its coordinates."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.names import label_key
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.field.services.writing import Writer, writer_of
from drill.fundamentals.core.words import HEADINGS
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.fundamentals.wording import correction_text, counts_off_text, difference_text
from drill.shows.models import Dot, DrillSet, Show
from drill.shows.queries import dots_of, versions_in_use
from drill.shows.services import words as services
from drill.shows.views.tabs import tabs_of
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank

MENU = "drill"


@page(rules.staff, MENU)
def show_words(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Choose a set and dots, type the words of their move, see where they end."""
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    version = versions_in_use({show.pk}).get(show.pk)
    sets = list(version.sets.all())[1:] if version else []
    label, who = request.GET.get("set", ""), request.GET.get("who", "")
    chosen = next((s for s in sets if s.label == label), sets[0] if sets else None)
    said, facing = request.GET.get("words", ""), request.GET.get("facing", "front")
    context: dict[str, Any] = {
        "show": show,
        "tabs": tabs_of(show, "Instructions", version),
        "version": version,
        "sets": sets,
        "set": chosen,
        "who": who,
        "facing": facing,
        "facings": HEADINGS,
        "ranks": [(f"rank-{r.pk}", r) for r in Rank.objects.filter(season=viewer.this_season)],
        "dots": [
            (f"dot-{p.pk}", p)
            for p in sorted(show.dots.all(), key=lambda dot: label_key(dot.label))
        ],
        "said": said,
    }
    dots = _dots(viewer, show, who)
    if chosen is not None and dots:
        context |= {"before": services.set_before(chosen)}
        context |= _compared(viewer, show, chosen, dots, said, facing)
    return render(request, "shows/words.html", context)


def _dots(viewer: Viewer, show: Show, who: str) -> list[Dot]:
    """One dot, or those that a rank's spots march."""
    kind, _, text = who.partition("-")
    pk = lib_forms.whole_number(text)
    if pk is None:
        return []
    if kind == "rank":
        rank = get_object_or_404(Rank, pk=pk, season=viewer.this_season)
        spots = list(rank_queries.spots(viewer.this_season).filter(rank=rank))
        order = list(dots_of(show.pk, spots).values())
        there = {p.label: p for p in show.dots.filter(label__in=order)}
        return [there[label] for label in order if label in there]
    return [get_object_or_404(show.dots, pk=pk)]


def _compared(
    viewer: Viewer, show: Show, chosen: DrillSet, dots: list[Dot], said: str, facing: str
) -> dict[str, Any]:
    """The lines of the page; words that are not understood are its trouble."""
    season, trouble, words = viewer.this_season, "", ""
    fundamentals = fundamentals_of(season)
    try:
        words = services.with_facing(said, facing, season, fundamentals) if said.strip() else ""
    except Refused as error:
        trouble = error.message
    writer = writer_of(season, show.field_type)
    lines = []
    for line in services.lines_of(season, chosen, dots, words):
        it = line.comparison
        lines.append(
            {
                "of": line,
                "start": _spoken(line.start, writer),
                "end": _spoken(line.end, writer),
                "difference": difference_text(it, writer.style) if it else "",
                "counts_off": counts_off_text(it) if it else "",
                "correction": correction_text(it.correction, fundamentals, writer.style)
                if it and it.correction
                else "",
            }
        )
    return {"lines": lines, "words": words, "trouble": trouble}


def _spoken(at: tuple[int, int] | None, writer: Writer) -> str:
    return writer.coordinate(*at) if at else "no coordinate"


@require_POST
@page(rules.staff, MENU)
def keep_words(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Keep the words, mark a curve, or let the dots go straight; coordinates stay."""
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    version = versions_in_use({show.pk}).get(show.pk)
    label, who = request.POST.get("set", ""), request.POST.get("who", "")
    sets = version.sets.all() if version else ()
    chosen = next((it for it in sets if it.label == label), None)
    dots = _dots(viewer, show, who)
    if chosen is None or not dots:
        raise Refused("Choose a set and dots.")
    words, what = request.POST.get("words", ""), request.POST.get("what", "")
    actor = viewer.signed_in
    if what == "words":
        count = services.save_words(
            actor=actor, season=viewer.this_season, drill_set=chosen, dots=dots, words=words
        )
        text = f"{count} {_dots_word(count)} to {chosen} in these words."
    elif what == "curve":
        count = services.mark_curved(actor=actor, drill_set=chosen, dots=dots)
        text = f"{count} {_dots_word(count)} to {chosen} in a curve without words."
    elif what == "straight":
        services.make_straight(actor=actor, drill_set=chosen, dots=dots)
        text = f"{len(dots)} {_dots_word(len(dots))} straight to {chosen}."
    else:
        raise Refused("Choose what to keep.")
    done(request, text)
    query = urlencode({"set": label, "who": who, "words": words if what == "words" else ""})
    return redirect(f"{reverse('show-words', args=[pk])}?{query}")


def _dots_word(count: int) -> str:
    return "dot goes" if count == 1 else "dots go"
