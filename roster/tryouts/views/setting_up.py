"""A tryout's set-up: rules, sessions, criteria, quotas, readiness items."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import is_done, save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.forms.setting_up import (
    CopyForm,
    ItemForm,
    QuotasForm,
    SessionForm,
    TiesForm,
    TryoutCriterionForm,
    TryoutForm,
)
from roster.tryouts.models import ReadinessItem, Tryout, TryoutCriterion, TryoutSession
from roster.tryouts.services import setting_up as services
from roster.tryouts.views.frame import MENU, show, tryout_of


@page(rules.staff, MENU)
def new_tryout(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A tryout with its rules."""
    season = viewer.this_season
    form = TryoutForm(season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: services.save_tryout(actor=viewer.signed_in, tryout=form.instance)
        )
        if saved is not None:
            done(request, f"{saved} is added. Say what is marked, when, and how many are wanted.")
            return redirect("tryout-set-up", pk=saved.pk)
    context = {"form": form, "title": "New tryout", "back": reverse("tryouts")}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def copy_tryout(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A tryout set up like an earlier one."""
    form = CopyForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        data, made = form.cleaned_data, Tryout(season=viewer.this_season)
        made.name = data["name"]
        saved = save_through(
            form,
            lambda: services.copy_tryout(actor=viewer.signed_in, tryout=made, of=data["of"]),
        )
        if saved is not None:
            done(request, f"{saved} is set up like {data['of']}. Check the times of its sessions.")
            return redirect("tryout-set-up", pk=saved.pk)
    context = {"form": form, "title": "Set up like an earlier tryout", "back": reverse("tryouts")}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def edit_tryout(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change the rules before they are frozen."""
    it = tryout_of(viewer, pk)
    form = TryoutForm(viewer.this_season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: services.save_tryout(actor=viewer.signed_in, tryout=form.instance)
        )
        if saved is not None:
            done(request, f"The rules of {saved} are saved.")
            return redirect("tryout-set-up", pk=pk)
    context = {
        "form": form,
        "title": f"Rules of {it.name}",
        "back": reverse("tryout-set-up", args=[pk]),
    }
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def set_up(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Everything of a tryout's set-up on one page."""
    it = tryout_of(viewer, pk)
    criteria = list(queries.criteria(it))
    by_pk = {c.pk: c for c in criteria}
    context = {
        "sessions": queries.sessions(it),
        "criteria": criteria,
        "quotas": queries.quotas(it),
        "items": it.readiness_items.all(),
        "ties": [by_pk[pk] for pk in it.tie_order if pk in by_pk],
        "lacks": [] if it.is_frozen else services.what_lacks(it),
    }
    return show(request, it, "tryout-set-up", "tryouts/set_up.html", context)


@require_POST
@page(rules.staff, MENU)
def start_judging(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Freeze the rules."""
    it = services.start_judging(actor=viewer.signed_in, tryout=tryout_of(viewer, pk))
    done(request, f"The rules of {it} are frozen. Marks may come in.", undo=False)
    return redirect("tryout", pk=pk)


@require_POST
@page(rules.director, MENU)
def reopen_set_up(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Open the rules again."""
    it = tryout_of(viewer, pk)
    services.reopen_set_up(actor=viewer.signed_in, tryout=it)
    done(request, f"The rules of {it} can be changed again.", undo=False)
    return redirect("tryout-set-up", pk=pk)


def _edited(
    request: HttpRequest,
    tryout: Tryout,
    form: forms.ModelForm[Any],
    title: str,
    save: Callable[[], Model],
) -> HttpResponse:
    """A form of one row of the set-up, and back to it when it is saved."""
    if request.method == "POST" and form.is_valid():
        saved = save_through(form, save)
        if saved is not None:
            done(request, f"“{saved}” is saved.")
            return redirect("tryout-set-up", pk=tryout.pk)
    back = reverse("tryout-set-up", args=[tryout.pk])
    return render(request, "form_page.html", {"form": form, "title": title, "back": back})


@page(rules.staff, MENU)
def edit_session(
    request: HttpRequest, viewer: Viewer, pk: int, session_pk: int | None = None
) -> HttpResponse:
    """A new session, or changes of one."""
    tryout = tryout_of(viewer, pk)
    rows = queries.sessions(tryout)
    it = get_object_or_404(rows, pk=session_pk) if session_pk else TryoutSession(tryout=tryout)
    form = SessionForm(tryout, request.POST or None, instance=it)
    title = f"Change {it.name}" if session_pk else "New session"
    return _edited(
        request,
        tryout,
        form,
        title,
        lambda: services.save_session(actor=viewer.signed_in, session=form.instance),
    )


@require_POST
@page(rules.staff, MENU)
def remove_session(request: HttpRequest, viewer: Viewer, pk: int, session_pk: int) -> HttpResponse:
    """Remove a session without marks."""
    it = get_object_or_404(queries.sessions(tryout_of(viewer, pk)), pk=session_pk)
    services.remove_session(actor=viewer.signed_in, session=it)
    done(request, f"{it} is removed.")
    return redirect("tryout-set-up", pk=pk)


@page(rules.staff, MENU)
def edit_criterion(
    request: HttpRequest, viewer: Viewer, pk: int, criterion_pk: int | None = None
) -> HttpResponse:
    """A new criterion, or changes of one."""
    tryout = tryout_of(viewer, pk)
    rows = queries.criteria(tryout)
    it = (
        get_object_or_404(rows, pk=criterion_pk)
        if criterion_pk
        else TryoutCriterion(tryout=tryout, order=rows.count() + 1)
    )
    form = TryoutCriterionForm(tryout, request.POST or None, instance=it)
    title = f"Change “{it.name}”" if criterion_pk else "New criterion"
    return _edited(
        request,
        tryout,
        form,
        title,
        lambda: services.save_criterion(actor=viewer.signed_in, criterion=form.instance),
    )


@require_POST
@page(rules.staff, MENU)
def remove_criterion(
    request: HttpRequest, viewer: Viewer, pk: int, criterion_pk: int
) -> HttpResponse:
    """Remove a criterion before judging."""
    it = get_object_or_404(queries.criteria(tryout_of(viewer, pk)), pk=criterion_pk)
    services.remove_criterion(actor=viewer.signed_in, criterion=it)
    done(request, f"“{it}” is removed.")
    return redirect("tryout-set-up", pk=pk)


@require_POST
@page(rules.staff, MENU)
def start_criteria(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A sensible set to begin with."""
    added = services.add_starters(actor=viewer.signed_in, tryout=tryout_of(viewer, pk))
    done(request, f"{added} criteria are added. Change what your band does differently.")
    return redirect("tryout-set-up", pk=pk)


@page(rules.staff, MENU)
def order_ties(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What breaks ties."""
    it = tryout_of(viewer, pk)
    form = TiesForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = is_done(
            form,
            lambda: services.order_ties(actor=viewer.signed_in, tryout=it, criteria=form.chosen),
        )
        if saved:
            done(request, "What breaks ties is saved.")
            return redirect("tryout-set-up", pk=pk)
    context = {
        "form": form,
        "title": "What breaks ties",
        "lead": "Of two equal figures the higher mark in these criteria goes first. A tie that is "
        "left blocks the posting; names, numbers and the order of a list never decide.",
        "back": reverse("tryout-set-up", args=[pk]),
    }
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def edit_quotas(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How many of each part."""
    it = tryout_of(viewer, pk)
    form = QuotasForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(form, lambda: _save_quotas(viewer, it, form))
        if saved is not None:
            done(request, "The quotas are saved.")
            return redirect("tryout-set-up", pk=pk)
    return render(request, "tryouts/quotas.html", {"tryout": it, "form": form})


def _save_quotas(viewer: Viewer, tryout: Tryout, form: QuotasForm) -> bool:
    services.save_quotas(actor=viewer.signed_in, tryout=tryout, wanted=form.wanted)
    return True


@page(rules.staff, MENU)
def edit_item(
    request: HttpRequest, viewer: Viewer, pk: int, item_pk: int | None = None
) -> HttpResponse:
    """A new readiness item, or changes of one."""
    tryout = tryout_of(viewer, pk)
    rows = ReadinessItem.objects.filter(tryout=tryout)
    it = (
        get_object_or_404(rows, pk=item_pk)
        if item_pk
        else ReadinessItem(tryout=tryout, order=rows.count() + 1)
    )
    form = ItemForm(tryout, request.POST or None, instance=it)
    title = f"Change “{it.name}”" if item_pk else "New readiness item"
    return _edited(
        request,
        tryout,
        form,
        title,
        lambda: services.save_item(actor=viewer.signed_in, item=form.instance),
    )


@require_POST
@page(rules.staff, MENU)
def remove_item(request: HttpRequest, viewer: Viewer, pk: int, item_pk: int) -> HttpResponse:
    """Remove a readiness item."""
    it = get_object_or_404(ReadinessItem, pk=item_pk, tryout=tryout_of(viewer, pk))
    services.remove_item(actor=viewer.signed_in, item=it)
    done(request, f"“{it}” is removed.")
    return redirect("tryout-set-up", pk=pk)
