"""The first set-up, the season's choices, roles, and the audit."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.env import ROOT
from bandops.lib.accounts.links import send_invitation
from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.naming import columns_marked
from bandops.lib.audit.reading import readable
from bandops.lib.audit.recording import record_view
from bandops.lib.errors import Refused
from bandops.lib.ties import merged
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.enums import Role
from roster.people.forms.seasons import ClockForm, RoleForm, SeasonForm
from roster.people.models import RoleGrant, Season
from roster.people.rules import gives_rights
from roster.people.services import seasons as services
from roster.people.services.instruments import add_starter_parts
from roster.people.services.invitations import guests
from roster.people.ties import SET_UP_PAGE
from roster.people.viewer import Viewer

MENU, ROLES, HISTORY = "season", "roles", "history"
CHANGES_A_PAGE = 15
STARTER_PARTS = ROOT / "fixtures" / "parts.csv"


@page(rules.staff, MENU)
def set_up(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What a new band does, in order, and how far it has come."""
    season = viewer.this_season
    context: dict[str, Any] = {
        "season": season,
        "clock": ClockForm(initial={"time_zone": season.time_zone}),
        "uninvited": len(guests(season).due),
        "mail": settings.EMAIL_BACKEND.rsplit(".", 2)[-2],
        "doubtful_out": f"{round(season.doubtful_out_from * 100)}%",
        "sender": settings.DEFAULT_FROM_EMAIL,
    }
    context |= merged(SET_UP_PAGE.ask(season))
    return render(request, "people/set_up.html", context)


@require_POST
@page(rules.director, MENU)
def set_clock(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The band's time zone, from the first set-up."""
    season, form = viewer.this_season, ClockForm(request.POST)
    if not form.is_valid():
        raise Refused(" ".join(str(text) for text in form.errors["time_zone"]))
    services.change_season(actor=viewer.signed_in, season=season, values=form.cleaned_data)
    done(request, f"Times now go by the clock of {season.time_zone}.")
    return redirect("set-up")


@require_POST
@page(rules.staff, MENU)
def starter_parts(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Add the common instruments and parts; those there are kept."""
    with Path(STARTER_PARTS).open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    added = add_starter_parts(actor=viewer.signed_in, season=viewer.this_season, rows=rows)
    done(request, f"{added} parts were added. Remove the ones your band does not have.")
    return redirect("instruments")


@page(rules.director, MENU)
def edit_season(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The season's dates and choices."""
    season = viewer.this_season
    form = SeasonForm(request.POST or None, instance=season)
    if request.method == "POST" and form.is_valid():
        values = {name: form.cleaned_data[name] for name in form.fields}
        saved = save_through(
            form,
            lambda: services.change_season(actor=viewer.signed_in, season=season, values=values),
        )
        if saved is not None:
            done(request, "The season is saved.")
            return redirect("set-up")
    context = {"form": form, "title": f"Season {season.name}", "back": reverse("set-up")}
    return render(request, "form_page.html", context)


@page(gives_rights, ROLES, fresh=True)
def roles(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who has which role this season."""
    season = viewer.this_season
    form = RoleForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        user = save_through(
            form,
            lambda: services.grant_role(
                actor=viewer.signed_in,
                season=season,
                email=data["email"],
                name=data["name"],
                role=Role(data["role"]),
            ),
        )
        if user is not None:
            text = f"{user} is {Role(data['role']).label.lower()} now."
            done(request, text + (_invited(user, season) if data["invite"] else ""))
            return redirect("roles")
    grants = (
        RoleGrant.objects.filter(season=season)
        .select_related("user")
        .order_by("role", "user__name")
    )
    return render(request, "people/roles.html", {"form": form, "grants": grants})


def _invited(user: User, season: Season) -> str:
    """Email an invitation; what became of it, in words."""
    try:
        left = send_invitation(user, season.band_name)
    except OSError as error:
        return f"\nThe invitation could not be emailed: {error}."
    said = "An invitation was emailed." if left else "Email is not set up: no invitation was sent."
    return f"\n{said}"


@require_POST
@page(gives_rights, ROLES, fresh=True)
def revoke(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Take a role away."""
    grant = get_object_or_404(RoleGrant, pk=pk, season=viewer.this_season)
    services.revoke_role(actor=viewer.signed_in, grant=grant)
    done(request, f"{grant.user} is no longer {grant.get_role_display().lower()}.")
    return redirect("roles")


@page(rules.staff, HISTORY)
def audit(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Every write: by whom, from what to what."""
    entries = AuditEntry.objects.all()
    text = request.GET.get("q", "").replace("\0", " ").strip()
    if text:
        entries = entries.filter(actor_label__icontains=text) | entries.filter(
            action__icontains=text
        )
    shown = page_of(request, entries, CHANGES_A_PAGE)
    lines = readable(shown)
    noted = columns_marked("audit_noted")
    if any((line.entry.table, column) in noted for line in lines for column in line.columns):
        record_view(viewer.signed_in, AuditEntry._meta.db_table, "list", "private changes")
    context = {"entries": lines, "page": shown, "q": text}
    return render(request, "people/audit.html", context)
