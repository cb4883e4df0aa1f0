"""What the checks of moves find in a version, and what they warn about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.field import queries as field_queries
from drill.shows.core.move_findings import Fault, Finding
from drill.shows.forms.move_checks import MoveSettingsForm, StepLimitForm
from drill.shows.models import ShowVersion, StepLimit
from drill.shows.queries import with_occasions
from drill.shows.services import move_checks as services
from drill.shows.views.tabs import tabs_of
from drill.shows.wording import KINDS, finding_lines, write_step
from roster.people.viewer import Viewer

MENU = "drill"
A_PAGE = 50


@page(rules.staff, MENU)
def checks(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Everything found in a version, worst first, by kind where one is chosen."""
    version = get_object_or_404(
        ShowVersion.objects.select_related("show"),
        pk=pk,
        show__season=viewer.this_season,
    )
    with_occasions([version])
    checked = services.check_version(version, viewer.this_season)
    kind = request.GET.get("kind", "")
    chosen = [f for f in checked.found if kind not in KINDS or f.fault == kind]
    shown = Paginator(chosen, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "show": version.show,
        "tabs": tabs_of(version.show, "Checks", version),
        "version": version,
        "sets": len(checked.drill.sets),
        "dots": len(checked.drill.dots),
        "kind": kind if kind in KINDS else "",
        "kinds": kind_counts(checked.found),
        "all": len(checked.found),
        "page": shown,
        "lines": finding_lines(version, checked.drill, shown.object_list),
    }
    return render(request, "shows/checks.html", context)


def kind_counts(found: Iterable[Finding]) -> list[tuple[Fault, str, int]]:
    """(kind, its words, how many) of the kinds that there are."""
    counts = Counter(f.fault for f in found)
    return [(kind, words, counts[kind]) for kind, words in KINDS.items() if counts[kind]]


@page(rules.staff, MENU)
def limits(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What the checks warn about: for everybody here, and the special limits."""
    season = viewer.this_season
    form = MoveSettingsForm(field_queries.drill_settings(season), request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        saved = save_through(
            form,
            lambda: services.save_move_settings(
                actor=viewer.signed_in,
                season=season,
                largest_step=data["largest_step"],
                closest_gap=data["closest_gap"],
            ),
        )
        if saved is not None:
            done(request, "Saved. The checks now use this.")
            return redirect("move-limits")
    rows = StepLimit.objects.filter(season=season).select_related("instrument")
    context = {"form": form, "rows": [(row, write_step(row.largest_step)) for row in rows]}
    return render(request, "shows/limits.html", context)


@page(rules.staff, MENU)
def edit_limit(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A special limit, new or changed."""
    season = viewer.this_season
    it = get_object_or_404(StepLimit, pk=pk, season=season) if pk else StepLimit()
    form = StepLimitForm(season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.save_step_limit(actor=viewer.signed_in, limit=form.instance),
        )
        if saved is not None:
            done(request, "The limit is saved.")
            return redirect("move-limits")
    context = {
        "form": form,
        "title": "Change the limit" if pk else "Add a limit",
        "lead": "The most specific limit wins: instrument first, then direction, then the "
        "highest tempo.",
        "back": reverse("move-limits"),
    }
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_limit(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A special limit no longer counts."""
    it = get_object_or_404(StepLimit, pk=pk, season=viewer.this_season)
    services.remove_step_limit(actor=viewer.signed_in, limit=it)
    done(request, "The limit is removed.")
    return redirect("move-limits")
