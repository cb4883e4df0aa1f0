"""A show's versions and their sets, by hand."""

from __future__ import annotations

from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.shows.forms.sets import SetForm, VersionForm
from drill.shows.models import DrillSet, Show, ShowVersion
from drill.shows.queries import versions_in_use, with_occasions
from drill.shows.services import sets as services
from drill.shows.services.versions import start_version, use_version
from drill.shows.ties import published_versions
from drill.shows.views.tabs import tabs_of
from roster.people.viewer import Viewer

MENU = "drill"


@page(rules.staff, MENU)
def versions(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """All versions of a show, which one is in use; a new one begins here."""
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    in_use = versions_in_use({pk}).get(pk)
    copy = lib_forms.whole_number(request.GET.get("copy", "")) or (in_use and in_use.pk)
    form = VersionForm(show, request.POST or None, initial={"copy_of": copy})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        made = save_through(
            form,
            lambda: start_version(
                actor=viewer.signed_in, show=show, label=data["label"], copy_of=data["copy_of"]
            ),
        )
        if made is not None:
            text = f"Version {made.label} is started."
            if in_use is not None:
                text += f" Version {in_use.label} stays in use until you put this one in use."
            done(request, text)
            return redirect("sets", pk=made.pk)
    counted = show.versions.order_by("-order")
    context = {
        "show": show,
        "tabs": tabs_of(show, "Versions", in_use),
        "versions": with_occasions(counted.annotate(many=Count("sets"))),
        "in_use": in_use,
        "published": published_versions(viewer.this_season.pk),
        "form": form,
    }
    return render(request, "shows/versions.html", context)


@require_POST
@page(rules.staff, MENU)
def use(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Put a version in use."""
    version = _version(viewer, pk)
    use_version(actor=viewer.signed_in, version=version)
    done(request, f"Version {version.label} is in use: the next lineups are made for it.")
    return redirect("versions", pk=version.show_id)


@page(rules.staff, MENU)
def sets(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A version's sets in order, with the counts so far; one more is added here."""
    version = _version(viewer, pk)
    rows = list(version.sets.annotate(many=Count("positions")).order_by("order"))
    initial = {"after": rows[-1].pk if rows else None}
    form = SetForm(version, request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        made = save_through(
            form,
            lambda: services.add_set(
                actor=viewer.signed_in, it=form.instance, after=form.cleaned_data["after"]
            ),
        )
        if made is not None:
            done(request, f"Set {made.label} is added; no dots in it yet.")
            return redirect("sets", pk=pk)
    so_far, lines = 0, []
    for row in rows:
        so_far += row.counts
        lines.append((row, so_far))
    context = {
        "show": version.show,
        "tabs": tabs_of(version.show, "Sets", version),
        "version": version,
        "lines": lines,
        "dots": version.show.dots.count(),
        "used": version.pk in published_versions(viewer.this_season.pk),
        "form": form,
    }
    return render(request, "shows/sets.html", context)


@page(rules.staff, MENU)
def edit_set(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Another label, counts or tempo."""
    it = set_of(viewer, pk)
    title = f"{it.version}: set {it.label}"
    form = SetForm(it.version, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: services.change_set(actor=viewer.signed_in, it=form.instance)
        )
        if saved is not None:
            done(request, f"Set {saved.label} is saved.")
            return redirect("sets", pk=saved.version_id)
    context = {"form": form, "title": title, "back": reverse("sets", args=[it.version_id])}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def move_set(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One place earlier or later."""
    it = set_of(viewer, pk)
    earlier = request.POST.get("way") == "earlier"
    services.move_set(actor=viewer.signed_in, it=it, by=-1 if earlier else 1)
    done(request, f"Set {it.label} comes {'earlier' if earlier else 'later'}.")
    return redirect("sets", pk=it.version_id)


@require_POST
@page(rules.staff, MENU)
def remove_set(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove a set with where everybody stands in it."""
    it = set_of(viewer, pk)
    services.remove_set(actor=viewer.signed_in, it=it)
    done(request, f"Set {it.label} is removed.")
    return redirect("sets", pk=it.version_id)


def _version(viewer: Viewer, pk: int) -> ShowVersion:
    found = ShowVersion.objects.select_related("show__season")
    return get_object_or_404(found, pk=pk, show__season=viewer.this_season)


def set_of(viewer: Viewer, pk: int) -> DrillSet:
    """A set of the season, with its version and show."""
    found = DrillSet.objects.select_related("version__show__season")
    return get_object_or_404(found, pk=pk, version__show__season=viewer.this_season)
