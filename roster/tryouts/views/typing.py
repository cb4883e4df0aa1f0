"""Paper sheets: chosen, typed twice, differences settled, saved."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.forms.checking import DifferencesForm, NewSheetForm, SheetForm
from roster.tryouts.models import Tryout, TypedSheet
from roster.tryouts.services import typing as services
from roster.tryouts.views.frame import MENU, show, tryout_of

TAB, NAME = "tryout-marks", "1"


@page(rules.staff, MENU)
def new_sheet(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Which paper is typed."""
    it = tryout_of(viewer, pk)
    form = NewSheetForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        names = TypedSheet.objects.filter(session=data["session"], panelist=data["panelist"])
        made = save_through(
            form,
            lambda: services.type_sheet(
                actor=viewer.signed_in,
                session=data["session"],
                panelist=data["panelist"],
                name=str(names.count() + 1),
                typed={},
                again=False,
            ),
        )
        if made is not None:
            return redirect("typed-sheet", pk=pk, sheet_pk=made.pk)
    context = {
        "form": form,
        "title": "Type a paper sheet",
        "lead": "Every sheet is typed twice, best by two people; what differs is looked up on the "
        "paper.",
        "button": "Start typing",
        "back": reverse("tryout-marks", args=[pk]),
    }
    return render(request, "form_page.html", context)


def sheet_of(tryout: Tryout, pk: int) -> TypedSheet:
    """A sheet of the tryout; 404 for none."""
    rows = TypedSheet.objects.select_related("session__tryout__season", "panelist__user")
    return get_object_or_404(rows, pk=pk, session__tryout=tryout)


@page(rules.staff, MENU)
def typed_sheet(request: HttpRequest, viewer: Viewer, pk: int, sheet_pk: int) -> HttpResponse:
    """The grid to type into; the second time without what was typed first."""
    it = tryout_of(viewer, pk)
    sheet = sheet_of(it, sheet_pk)
    # What the page was opened for, whoever typed meanwhile.
    time = request.POST.get("time") or request.GET.get("time")
    again = time == "2" if request.method == "POST" and time else bool(sheet.first) and time != "1"
    typed = sheet.second if again else sheet.first
    numbers = services.numbers_of(sheet.session, sheet.panelist)
    form = SheetForm(queries.criteria(it), numbers, typed, request.POST or None)
    if request.method == "POST" and form.is_valid():
        kept = save_through(
            form,
            lambda: services.type_sheet(
                actor=viewer.signed_in,
                session=sheet.session,
                panelist=sheet.panelist,
                name=sheet.name,
                typed=form.typed,
                again=again,
            ),
        )
        if kept is not None:
            return _kept(request, kept, again)
    context = {"sheet": sheet, "form": form, "again": again}
    return show(request, it, TAB, "tryouts/typed_sheet.html", context)


def _kept(request: HttpRequest, sheet: TypedSheet, again: bool) -> HttpResponse:
    pk = sheet.session.tryout_id
    if again:
        return redirect("typed-differences", pk=pk, sheet_pk=sheet.pk)
    done(request, f"{sheet} is typed once. Type it a second time, best by somebody else.")
    return redirect("tryout-marks", pk=pk)


@page(rules.staff, MENU)
def differences(request: HttpRequest, viewer: Viewer, pk: int, sheet_pk: int) -> HttpResponse:
    """What was typed two ways; what the paper says is typed once more, and all is saved."""
    it = tryout_of(viewer, pk)
    sheet = sheet_of(it, sheet_pk)
    found = services.differences(sheet, queries.criteria(it))
    form = DifferencesForm(found, request.POST or None)
    if request.method == "POST" and form.is_valid():
        kept = save_through(
            form,
            lambda: services.settle_differences(
                actor=viewer.signed_in, sheet=sheet, chosen=form.chosen
            ),
        )
        if kept is not None:
            return redirect("typed-differences", pk=pk, sheet_pk=sheet.pk)
    context = {"sheet": sheet, "form": form, "rows": len(sheet.first)}
    return show(request, it, TAB, "tryouts/differences.html", context)


@require_POST
@page(rules.staff, MENU)
def save_sheet(request: HttpRequest, viewer: Viewer, pk: int, sheet_pk: int) -> HttpResponse:
    """Both typings agree: the marks count."""
    sheet = sheet_of(tryout_of(viewer, pk), sheet_pk)
    count = services.save_sheet(actor=viewer.signed_in, sheet=sheet)
    done(request, f"{sheet}: {count} marks are saved.", undo=False)
    return redirect("tryout-marks", pk=pk)
