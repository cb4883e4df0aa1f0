"""Backups: what happens if one more drops out, and who learns what this week."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.outbox.progress import progress_of
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import page
from drill.backups.forms import LessonForm, PlanForm
from drill.backups.models import BackupPlan, Lesson
from drill.backups.services import plans
from drill.backups.services.chances import chances_of
from drill.backups.services.coverage import covered_to_show
from drill.backups.services.usual_chance import usual_chance
from drill.backups.views.coverage_tables import (
    chances_context,
    coverage_context,
    plan_chart,
    spot_context,
)
from drill.backups.wording import usual_chance_words
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.events.posted import event_of
from drill.lineup.wording import Names
from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries

MENU = "backups"


@page(rules.staff, MENU)
def backups(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """Spot by spot who answers, on whom several hang, and the plan of the week."""
    season = viewer.this_season
    event = event_of(viewer, pk) if pk else event_queries.next_event(season)
    if event is not None:
        event.season = season
    return _backups(request, viewer, event)


def _backups(
    request: HttpRequest, viewer: Viewer, event: Event | None, **typed: forms.BaseForm
) -> HttpResponse:
    """The page; with a form as it was sent, when it says why it was not taken."""
    context: dict[str, Any] = {"event": event}
    if event is not None:
        found = covered_to_show(event)
        context |= _plan(viewer, event) | {"covered": found} | typed
        if found is None and typed:
            raise Refused("Make the lineup first: the plan needs to know who stands where.")
        if found is not None:
            usual = chances_of(context["plan"])
            chances = plans.chances(found.built, usual)
            basis = plans.basis(found, usual)
            plan = context["plan"]
            context["plan_stale"] = bool(plan.figures) and plan.facts_hash != basis
            with_pairs = request.GET.get("pairs") == "yes"
            names = Names(event.season_id)
            context |= coverage_context(found, chances, names, with_pairs=with_pairs)
            context |= chances_context(usual, chances, names)
    return keep_copy(viewer, render(request, "backups/backups.html", context))


@page(rules.staff, MENU)
def spot_coverage(request: HttpRequest, viewer: Viewer, pk: int, spot_pk: int) -> HttpResponse:
    """One spot: who answers if its member drops out, and who knows it."""
    event = event_of(viewer, pk)
    found = covered_to_show(event)
    spot = get_object_or_404(rank_queries.spots(viewer.this_season), pk=spot_pk)
    context = {"event": event, "spot": spot, "covered": found}
    if found is not None:
        usual = chances_of(plans.plan_of(event))
        context |= spot_context(found, plans.chances(found.built, usual), spot)
    return render(request, "backups/coverage_of_spot.html", context)


@page(rules.staff, MENU)
def make_plan(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Have the plan made; what is locked stays."""
    event = event_of(viewer, pk)
    if request.method != "POST":
        return redirect("backups-of", pk=event.pk)
    form = PlanForm(request.POST, instance=plans.plan_of(event))

    def ask() -> BackupPlan:
        return plans.ask_for_plan(actor=viewer.signed_in, event=event, **form.cleaned_data)

    if not form.is_valid() or save_through(form, ask) is None:
        return _backups(request, viewer, event, plan_form=form)
    done(request, "The plan is being made.")
    return _to_top(event)


@page(rules.staff, MENU)
def progress(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Whether the plan is ready; asks again until it is."""
    event = event_of(viewer, pk)
    context = {"event": event, **_plan(viewer, event)}
    return render(request, "backups/plan.html", context)


@page(rules.staff, MENU)
def add_lesson(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Give somebody a spot to learn."""
    event = event_of(viewer, pk)
    if covered_to_show(event) is None:
        raise Refused("Make the lineup first: the plan needs to know who stands where.")
    form = LessonForm(viewer.this_season, request.POST or None)

    def add() -> Lesson:
        return plans.add_lesson(actor=viewer.signed_in, event=event, **form.cleaned_data)

    if request.method == "POST" and form.is_valid():
        lesson = save_through(form, add)
        if lesson is not None:
            done(request, f"{lesson.member} learns {lesson.spot}.")
            return _to_top(event)
    context = {
        "form": form,
        "title": "Give somebody a spot to learn",
        "lead": f"For {event}. It is locked: the plan keeps it.",
        "button": "Add and lock",
        "back": reverse("backups-of", args=[event.pk]),
    }
    return render(request, "form_page.html", context)


def _to_top(event: Event) -> HttpResponse:
    """Where it is said what was done; else the browser would stay at the form it sent."""
    return redirect(f"{reverse('backups-of', args=[event.pk])}#main")


@require_POST
@page(rules.staff, MENU)
def change_lesson(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Lock a lesson, unlock it, or take it away."""
    lesson = get_object_or_404(
        Lesson.objects.select_related("plan__event", "member__person", "spot__rank"),
        pk=pk,
        plan__event__season=viewer.this_season,
    )
    what = request.POST.get("what")
    if what == "remove":
        plans.remove_lesson(actor=viewer.signed_in, lesson=lesson)
        done(request, f"{lesson.member} doesn't have to learn {lesson.spot}.")
    elif what in ("lock", "unlock"):
        plans.lock_lesson(actor=viewer.signed_in, lesson=lesson, locked=what == "lock")
        done(request, f"{lesson}: {what}ed.")
    else:
        raise Refused("Choose what to do.")
    return redirect("backups-of", pk=lesson.plan.event_id)


def _plan(viewer: Viewer, event: Event) -> dict[str, Any]:
    """The plan with its lessons by alternate and its figures, and whether it is being made."""
    usual = usual_chance(viewer.this_season, event.date)
    plan = plans.plan_of(event, usual)
    lessons: list[Lesson] = []
    if plan.pk:
        lessons = list(plan.lessons.select_related("member__person", "spot__rank", "spot__part"))
    by_member: dict[Member, list[Lesson]] = defaultdict(list)
    for lesson in lessons:
        by_member[lesson.member].append(lesson)
    return {
        "plan": plan,
        "plan_lessons": sorted(by_member.items(), key=lambda item: item[0].person.sort_key),
        "plan_form": PlanForm(instance=plan),
        "usual_out": usual_chance_words(usual),
        "plan_figures": plan.figures,
        "plan_chart": plan_chart(plan.figures),
        **progress_of(plans.plan_group(event)),
    }
