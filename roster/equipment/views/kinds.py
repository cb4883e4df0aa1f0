"""Kinds: the list, one with its figures."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.equipment import queries
from roster.equipment.forms.kinds import FigureForm, Figures, KindForm
from roster.equipment.models import Kind
from roster.equipment.rules import keeps_equipment
from roster.equipment.services import keeping
from roster.equipment.views.frame import MENU, kind_of, show
from roster.people.viewer import Viewer

TAB = "equipment-kinds"


@page(keeps_equipment, MENU)
def kinds(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What there is in the store, kind by kind."""
    context = {"kinds": queries.kinds()}
    return show(request, viewer, TAB, "equipment/kinds.html", context)


@page(keeps_equipment, MENU)
def new_kind(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One more kind."""
    return _edited(request, viewer, Kind(order=Kind.objects.count()))


@page(keeps_equipment, MENU)
def edit_kind(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A kind and its figures."""
    return _edited(request, viewer, kind_of(pk))


def _edited(request: HttpRequest, viewer: Viewer, kind: Kind) -> HttpResponse:
    known = [FigureForm.told(f) for f in kind.figures.all()] if kind.pk else []
    form = KindForm(viewer.this_season, request.POST or None, instance=kind)
    figures = Figures(request.POST or None, initial=known, prefix="f")
    if request.method == "POST" and form.is_valid() and figures.is_valid():
        wanted = [w for f in figures if (w := f.wanted()) is not None]
        saved = save_through(
            form,
            lambda: keeping.save_kind(
                actor=viewer.signed_in,
                kind=form.instance,
                figures=wanted,
                instruments=list(form.cleaned_data["instruments"]),
            ),
        )
        if saved is not None:
            done(request, f"“{saved}” is saved.")
            return redirect(TAB)
    context = {"form": form, "figures": figures, "kind": kind}
    return show(request, viewer, TAB, "equipment/kind.html", context)


@require_POST
@page(keeps_equipment, MENU)
def remove_kind(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A kind without items goes."""
    it = kind_of(pk)
    keeping.remove_kind(actor=viewer.signed_in, kind=it)
    done(request, f"“{it}” is removed.")
    return redirect(TAB)
