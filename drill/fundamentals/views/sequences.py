"""Evaluation sequences: make, see, print, remove."""

from __future__ import annotations

from collections.abc import Sequence

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.outbox.progress import file_response
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.fundamentals.forms import SequenceForm
from drill.fundamentals.models import EvaluationSequence
from drill.fundamentals.pdf import render_sequence
from drill.fundamentals.services import sequences as services
from drill.fundamentals.services.studying import Group, groups_shown
from roster.people.enums import Paper
from roster.people.viewer import Viewer

MENU = "sequences"


@page(rules.staff, MENU)
def sequences(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The season's sequences; one more is made here."""
    season = viewer.this_season
    form = SequenceForm(services.choices(season), request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = save_through(
            form,
            lambda: services.make_sequence(
                actor=viewer.signed_in, season=season, **form.cleaned_data
            ),
        )
        if made is not None:
            done(request, f"{made} is made.")
            return redirect("sequence", pk=made.pk)
    rows = EvaluationSequence.objects.filter(season=season).select_related("made_by")
    return render(request, "fundamentals/sequences/list.html", {"sequences": rows, "form": form})


@page(rules.staff, MENU)
def sequence(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A sequence: each group's way as a picture and a table with counts, and the difficulty."""
    it = _sequence(viewer, pk)
    try:
        groups, trouble = groups_shown(it), ""
    except Refused as error:
        groups, trouble = [], error.message
    context = {
        "sequence": it,
        "groups": groups,
        "uses": _uses(groups),
        "trouble": trouble,
        "papers": Paper.choices,
    }
    return render(request, "fundamentals/sequences/sequence.html", context)


def _uses(groups: Sequence[Group]) -> list[tuple[str, int, list[int]]]:
    """Fundamental, weight, how often each group uses it."""
    return [
        (lines[0][0], lines[0][2], [often for _, often, _ in lines])
        for lines in zip(*(group.uses for group in groups), strict=True)
    ]


@page(rules.staff, MENU)
def sequence_file(request: HttpRequest, viewer: Viewer, pk: int, paper: str) -> HttpResponse:
    """The sheets for evaluators."""
    it = _sequence(viewer, pk)
    if paper not in Paper.values:
        raise Http404
    made = render_sequence(it, paper=paper)
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")


@require_POST
@page(rules.staff, MENU)
def remove_sequence(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A sequence that nobody needs any more."""
    it = _sequence(viewer, pk)
    services.remove_sequence(actor=viewer.signed_in, row=it)
    done(request, f"{it} is removed.")
    return redirect("sequences")


def _sequence(viewer: Viewer, pk: int) -> EvaluationSequence:
    rows = EvaluationSequence.objects.select_related("season", "made_by")
    return get_object_or_404(rows, pk=pk, season=viewer.this_season)
