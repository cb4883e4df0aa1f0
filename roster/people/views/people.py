"""Members: list, page, changes."""

from __future__ import annotations

import difflib
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import record_view
from bandops.lib.errors import Refused
from bandops.lib.names import plain
from bandops.lib.ties import merged
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import back, page
from roster.people import queries
from roster.people import rules as people_rules
from roster.people.enums import MemberStatus
from roster.people.filters import MemberFilters
from roster.people.forms.people import MemberForm, StandingForm
from roster.people.models import Member, Season
from roster.people.services import people as services
from roster.people.ties import MEMBER_PAGE
from roster.people.viewer import Viewer

MENU = "people"


@page(rules.staff, MENU)
def people(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """All members, searched without marks and case, with the spelling forgiven."""
    season = viewer.this_season
    filters = MemberFilters.of(request, queries.present(season))
    members = page_of(request, filters.rows)
    text = request.GET.get("q", "").strip()
    context = {
        "filters": filters,
        "members": members,
        "near": nearest_names(season, text) if text and not members.object_list else [],
    }
    return render(request, "people/list.html", context)


def nearest_names(season: Season, text: str) -> list[str]:
    """Names that are spelled almost like the text."""
    names: dict[str, str] = {}
    for member in Member.objects.filter(season=season, person__merged_into=None).select_related(
        "person"
    ):
        for word in [plain(member.name), *plain(member.name).split()]:
            names.setdefault(word, member.name)
    near = difflib.get_close_matches(plain(text), list(names), n=5, cutoff=0.7)
    return list(dict.fromkeys(names[word] for word in near))


@page(rules.staff, MENU)
def member(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A member's page."""
    who = get_object_or_404(queries.members(viewer.this_season), pk=pk)
    record_view(viewer.signed_in, "people_member", who.pk, "clearance and eligibility")
    context: dict[str, Any] = {"member": who}
    context |= merged(MEMBER_PAGE.ask(who))
    return render(request, "people/member.html", context)


@page(rules.staff, MENU)
def emergency_contact(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The emergency contact; each look is noted."""
    who = get_object_or_404(Member, pk=pk, season=viewer.this_season)
    record_view(viewer.signed_in, "people_member", who.pk, "emergency contact")
    return render(request, "people/emergency.html", {"member": who})


@page(rules.staff, MENU)
def new_member(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Somebody joins, at the season's start or in the middle of it."""
    season = viewer.this_season
    form = MemberForm(season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = save_through(
            form,
            lambda: services.add_member(
                actor=viewer.signed_in,
                season=season,
                person=form.new_person(),
                values=form.member_values,
                main=form.main_skill,
                doubles=form.double_skills,
                namesake_is_meant=form.cleaned_data["namesake"],
            ),
        )
        if made is not None:
            done(request, f"{made} joined. Give them a spot or make them an alternate.")
            return redirect("member-place", pk=made.pk)
    context = {"form": form, "title": "New member", "back": reverse("people")}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def edit_member(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change what is recorded."""
    who = get_object_or_404(queries.members(viewer.this_season), pk=pk)
    form = MemberForm.of(who, request.POST or None)
    if request.method == "POST" and form.is_valid():
        followed = save_through(
            form,
            lambda: services.save_member(
                actor=viewer.signed_in,
                member=who,
                person_values=form.person_values,
                values=form.member_values,
                main=form.main_skill,
                doubles=form.double_skills,
            ),
        )
        if followed is not None:
            name = form.cleaned_data["used_name"] or form.cleaned_data["legal_name"]
            done(request, "\n".join([f"{name} is saved.", *followed]))
            return redirect("member", pk=who.pk)
    record_view(viewer.signed_in, "people_member", who.pk, "emergency contact")
    context = {"form": form, "title": f"Change {who}", "back": reverse("member", args=[pk])}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def edit_standing(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Clearance and eligibility."""
    who = get_object_or_404(Member, pk=pk, season=viewer.this_season)
    form = StandingForm(request.POST or None, instance=who)
    if request.method == "POST" and form.is_valid():
        values = {name: form.cleaned_data[name] for name in form.fields}
        saved = save_through(
            form,
            lambda: services.change_member(
                actor=viewer.signed_in, member=who, person_values={}, values=values
            ),
        )
        if saved is not None:
            done(request, "\n".join([f"{who} is saved.", *saved]))
            return redirect("member", pk=who.pk)
    record_view(viewer.signed_in, "people_member", who.pk, "clearance and eligibility")
    context = {
        "form": form,
        "title": f"Clearance of {who}",
        "lead": "Only the athletic trainer clears to march; the school decides eligibility.",
        "back": reverse("member", args=[pk]),
    }
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def change_status(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """On leave, or back."""
    who = get_object_or_404(Member, pk=pk, season=viewer.this_season)
    status = request.POST.get("status")
    if status not in (MemberStatus.ACTIVE, MemberStatus.ON_LEAVE):
        raise Refused("Choose active or on leave. To release somebody, use their page.")
    followed = services.set_status(
        actor=viewer.signed_in,
        season=viewer.this_season,
        members=[who],
        status=MemberStatus(status),
    )
    done(request, "\n".join([f"{who} is {MemberStatus(status).label}.", *followed]))
    return redirect("member", pk=who.pk)


@require_POST
@page(rules.staff, MENU)
def bulk(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One step for all the chosen members."""
    season, actor = viewer.this_season, viewer.signed_in
    typed = [lib_forms.whole_number(pk) for pk in request.POST.getlist("member")]
    ids = [pk for pk in typed if pk is not None]
    chosen = list(Member.objects.filter(pk__in=ids, season=season).select_related("person__user"))
    what = request.POST.get("what")
    if not chosen:
        raise Refused("Choose at least one member.")
    if what == "invite":
        asked = urlencode([("member", who.pk) for who in chosen])
        return redirect(f"{reverse('invitations')}?{asked}")
    if what in (MemberStatus.ACTIVE, MemberStatus.ON_LEAVE):
        followed = services.set_status(
            actor=actor, season=season, members=chosen, status=MemberStatus(what)
        )
        text = f"{len(chosen)} members are now {MemberStatus(what).label}."
        done(request, "\n".join([text, *followed]))
    else:
        raise Refused("Choose what to do.")
    return back(request, "people")


@page(people_rules.names_and_sizes, "sizes")
def sizes(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Names, parts and places: what the equipment manager works from."""
    context = {"members": queries.active_members(viewer.this_season)}
    return render(request, "people/sizes.html", context)
