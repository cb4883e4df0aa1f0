"""The evaluator plan: evaluators, groups, panels, and whether marks will compare."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import is_done, save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from bandops.lib.web.posted import posted_row
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.core.linking import Link
from roster.tryouts.forms.planning import GroupForm, GroupsForm, PanelistForm
from roster.tryouts.models import Candidate, Panelist, Tryout, TryoutGroup, TryoutSession
from roster.tryouts.services import planning as services
from roster.tryouts.views.frame import MENU, show, tryout_of
from roster.tryouts.wording import LinkWords, link_words, part_words

TAB = "tryout-plan"


@dataclass(frozen=True)
class GroupLine:
    """A group with its candidates' numbers and its panel."""

    group: TryoutGroup
    numbers: tuple[str, ...]
    panel: tuple[Panelist, ...]


def lines_of(tryout: Tryout) -> dict[int, list[GroupLine]]:
    """Session's id -> its groups, read at once."""
    found: dict[int, list[GroupLine]] = defaultdict(list)
    rows = queries.groups(tryout).prefetch_related("places__candidate", "panel__panelist__user")
    for group in rows:
        panel = sorted((p.panelist for p in group.panel.all()), key=lambda p: p.code)
        numbers = tuple(place.candidate.called for place in group.places.all())
        found[group.session_id].append(GroupLine(group, numbers, tuple(panel)))
    return found


@page(rules.staff, MENU)
def plan(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The timetable with panels, and what is wrong with it."""
    it = tryout_of(viewer, pk)
    lines = lines_of(it)
    sessions = [(s, lines.get(s.pk, [])) for s in queries.sessions(it)]
    ground = services.ground_of(it)
    check = services.check_of(it, ground) if ground.panels else None
    people = {c.pk: c for c in Candidate.objects.filter(tryout=it)}
    panelists = list(queries.panelists(it))
    context = {
        "sessions": sessions,
        "panelists": [(p, check.loads.get(p.pk, 0) if check else 0) for p in panelists],
        "check": check,
        "parts": part_words(check.linking, people) if check else [],
        "links": _links(check.linking.links if check else (), it, people, panelists),
        "short": [(people[c].called, n) for c, n in check.short.items()] if check else [],
        "has_groups": bool(ground.groups),
    }
    return show(request, it, TAB, "tryouts/plan.html", context)


def _links(
    links: tuple[Link, ...],
    tryout: Tryout,
    people: dict[int, Candidate],
    panelists: list[Panelist],
) -> list[LinkWords]:
    by_pk = {p.pk: p for p in panelists}
    sessions = {s.pk: s for s in queries.sessions(tryout)}
    return [link_words(it, people, by_pk, sessions) for it in links]


@require_POST
@page(rules.staff, MENU)
def add_panelists(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """All evaluators of the season."""
    added = services.add_panelists(actor=viewer.signed_in, tryout=tryout_of(viewer, pk))
    done(request, f"{added} evaluators are added." if added else "All evaluators are here already.")
    return redirect("tryout-plan", pk=pk)


@page(rules.staff, MENU)
def edit_panelist(
    request: HttpRequest, viewer: Viewer, pk: int, panelist_pk: int | None = None
) -> HttpResponse:
    """One evaluator: what sheets call them, and when they are away."""
    tryout = tryout_of(viewer, pk)
    rows = queries.panelists(tryout)
    it = get_object_or_404(rows, pk=panelist_pk) if panelist_pk else Panelist(tryout=tryout)
    form = PanelistForm(tryout, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.save_panelist(
                actor=viewer.signed_in, panelist=form.instance, away=form.cleaned_data["away"]
            ),
        )
        if saved is not None:
            done(request, f"Evaluator {saved.code}, {saved.user}, is saved.")
            return redirect("tryout-plan", pk=pk)
    title = f"Evaluator {it.code}, {it.user}" if panelist_pk else "Add an evaluator"
    context = {"form": form, "title": title, "back": reverse("tryout-plan", args=[pk])}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_panelist(
    request: HttpRequest, viewer: Viewer, pk: int, panelist_pk: int
) -> HttpResponse:
    """An evaluator without marks goes."""
    it = get_object_or_404(queries.panelists(tryout_of(viewer, pk)), pk=panelist_pk)
    services.remove_panelist(actor=viewer.signed_in, panelist=it)
    done(request, f"{it.user} does not evaluate.")
    return redirect("tryout-plan", pk=pk)


def session_of(tryout: Tryout, pk: int) -> TryoutSession:
    """A session of the tryout; 404 for none."""
    return get_object_or_404(queries.sessions(tryout), pk=pk)


@page(rules.staff, MENU)
def make_groups(request: HttpRequest, viewer: Viewer, pk: int, session_pk: int) -> HttpResponse:
    """A session's groups anew."""
    tryout = tryout_of(viewer, pk)
    session = session_of(tryout, session_pk)
    form = GroupsForm(tryout, request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = save_through(
            form,
            lambda: services.make_groups(
                actor=viewer.signed_in, session=session, grouping=form.grouping
            ),
        )
        if made is not None:
            done(request, f"{session} has {made} groups. Propose panels next.")
            return redirect("tryout-plan", pk=pk)
    lead = "Groups follow instruments, then numbers."
    if session.groups.exists():
        lead += " The groups it has are made anew."
    context = {
        "form": form,
        "title": f"Groups of {session}",
        "lead": lead,
        "button": "Make groups",
        "back": reverse("tryout-plan", args=[pk]),
    }
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def propose_panels(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Panels for all groups."""
    made = services.propose_panels(actor=viewer.signed_in, tryout=tryout_of(viewer, pk))
    done(request, f"{made} groups have their evaluators.")
    return redirect("tryout-plan", pk=pk)


@page(rules.staff, MENU)
def edit_group(request: HttpRequest, viewer: Viewer, pk: int, group_pk: int) -> HttpResponse:
    """One group: time, candidates, panel."""
    tryout = tryout_of(viewer, pk)
    it = get_object_or_404(queries.groups(tryout), pk=group_pk)
    form = GroupForm(tryout, it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        saved = is_done(
            form,
            lambda: services.change_group(
                actor=viewer.signed_in,
                group=it,
                starts_at=data["starts_at"],
                candidates=data["numbers"],
                panel=data["panel"],
            ),
        )
        if saved:
            done(request, f"{it} of {it.session} is saved.")
            return redirect("tryout-plan", pk=pk)
    title = f"{it} of {it.session}"
    context = {"form": form, "title": title, "back": reverse("tryout-plan", args=[pk])}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def add_link(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One look that links panels."""
    tryout = tryout_of(viewer, pk)
    sent, candidates = request.POST, Candidate.objects.filter(tryout=tryout)
    services.add_link(
        actor=viewer.signed_in,
        tryout=tryout,
        candidate=posted_row(candidates, sent.get("candidate", ""), "candidate"),
        panelist=posted_row(queries.panelists(tryout), sent.get("panelist", ""), "evaluator"),
        session=posted_row(queries.sessions(tryout), sent.get("session", ""), "session"),
    )
    done(request, "The look is in the plan.")
    return redirect("tryout-plan", pk=pk)
