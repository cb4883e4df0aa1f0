"""The band's own abbreviations for moves."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.fundamentals.forms import AbbreviationForm
from drill.fundamentals.models import Abbreviation
from drill.fundamentals.services import abbreviations as services
from roster.people.viewer import Viewer

MENU = "fundamentals"


@page(rules.staff, MENU)
def abbreviations(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """All abbreviations; one more is added here."""
    form = AbbreviationForm(request.POST or None)
    if request.method == "POST" and _saved(request, viewer, form, None):
        return redirect("abbreviations")
    rows = Abbreviation.objects.filter(season=viewer.this_season)
    return render(request, "fundamentals/abbreviations.html", {"rows": rows, "form": form})


@page(rules.staff, MENU)
def edit_abbreviation(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change an abbreviation or what it says."""
    row = get_object_or_404(Abbreviation, pk=pk, season=viewer.this_season)
    title = f"Change {row}"
    form = AbbreviationForm(request.POST or None, instance=row)
    if request.method == "POST" and _saved(request, viewer, form, row):
        return redirect("abbreviations")
    context = {"form": form, "title": title, "back": reverse("abbreviations")}
    return render(request, "form_page.html", context)


def _saved(
    request: HttpRequest, viewer: Viewer, form: AbbreviationForm, row: Abbreviation | None
) -> bool:
    if not form.is_valid():
        return False
    made = save_through(
        form,
        lambda: services.save_abbreviation(
            actor=viewer.signed_in, season=viewer.this_season, row=row, **form.cleaned_data
        ),
    )
    if made is not None:
        done(request, f"“{made}” says “{made.says}”.")
    return made is not None


@require_POST
@page(rules.staff, MENU)
def remove_abbreviation(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The word is no abbreviation any more."""
    row = get_object_or_404(Abbreviation, pk=pk, season=viewer.this_season)
    services.remove_abbreviation(actor=viewer.signed_in, row=row)
    done(request, f"“{row}” is removed.")
    return redirect("abbreviations")
