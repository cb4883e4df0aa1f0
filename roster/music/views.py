"""Music: the board, excerpts, section leaders, hearing on a phone, one's own."""

from __future__ import annotations

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through, whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, page
from roster.music import queries, services
from roster.music.forms import ExcerptForm, HearingForm, SectionLeaderForm
from roster.music.models import Excerpt, SectionLeader
from roster.music.rules import hears, hears_some, sections_of
from roster.people import queries as people_queries
from roster.people.models import Instrument, Member
from roster.people.viewer import Viewer

MENU = "music"


def _sections(viewer: Viewer) -> list[Instrument]:
    """The instruments whose music the viewer hears."""
    every = people_queries.instruments(viewer.this_season)
    mine = sections_of(viewer)
    return [i for i in every if mine is None or i.pk in mine]


def _chosen(request: HttpRequest, viewer: Viewer, sections: list[Instrument]) -> Instrument | None:
    """The section asked for, else the first that has music to pass, else the first."""
    asked = whole_number(request.GET.get("instrument", ""))
    if (found := next((i for i in sections if i.pk == asked), None)) is not None:
        return found
    return next(iter([*queries.with_music(viewer.this_season, sections), *sections]), None)


@page(hears_some, MENU)
def board(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who has not passed what, instrument by instrument; what is heard is noted here."""
    sections = _sections(viewer)
    chosen = _chosen(request, viewer, sections)
    context = {
        "sections": sections,
        "instrument": chosen,
        "board": queries.board_of(viewer.this_season, chosen) if chosen else None,
        "key": uuid.uuid4,
    }
    return keep_copy(viewer, render(request, "music/board.html", context))


@require_POST
@page(hears_some, MENU)
def hear(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One hearing."""
    told = HearingForm(request.POST).told()
    season = viewer.this_season
    excerpt = get_object_or_404(Excerpt, pk=told["excerpt"], season=season)
    people = Member.objects.select_related("person", "season")
    member = get_object_or_404(people, pk=told["member"], season=season)
    passing = next((p for p in queries.passings_of(member) if p.excerpt == excerpt), None)
    if passing is None:
        raise Refused(f"{member} does not have to pass {excerpt}.")
    section = _section_of(member)
    allow(hears(viewer, section))
    services.note_hearing(
        actor=viewer.signed_in,
        excerpt=excerpt,
        member=member,
        passed=told["state"] == "passed",
        key=told["key"],
        at=told["noted_at"],
    )
    said = "passed" if told["state"] == "passed" else "has not passed yet"
    done(request, f"{member} {said}: {excerpt}.", undo=False)
    return redirect(f"{reverse('music')}?instrument={section.pk}")


def _section_of(member: Member) -> Instrument:
    main = member.qualifications.filter(main=True).select_related("part__instrument").first()
    if main is None:
        raise Http404
    return main.part.instrument


@page(rules.staff, MENU)
def excerpts(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What has to be passed, and who hears it."""
    season = viewer.this_season
    context = {
        "excerpts": queries.excerpts(season),
        "leaders": SectionLeader.objects.filter(member__season=season).select_related(
            "instrument", "member__person"
        ),
    }
    return render(request, "music/excerpts.html", context)


@page(rules.staff, MENU)
def edit_excerpt(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A new excerpt, or changes of one."""
    season = viewer.this_season
    it = get_object_or_404(Excerpt, pk=pk, season=season) if pk else Excerpt(season=season)
    form = ExcerptForm(season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: services.save_excerpt(actor=viewer.signed_in, excerpt=form.instance)
        )
        if saved is not None:
            done(request, f"“{saved}” is saved.")
            return redirect("excerpts")
    title = f"Change “{it.name}”" if pk else "New excerpt"
    context = {"form": form, "title": title, "back": reverse("excerpts")}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_excerpt(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """An excerpt that nobody played goes."""
    it = get_object_or_404(Excerpt, pk=pk, season=viewer.this_season)
    services.remove_excerpt(actor=viewer.signed_in, excerpt=it)
    done(request, f"“{it}” is removed.")
    return redirect("excerpts")


@page(rules.staff, MENU)
def name_leader(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A section leader."""
    form = SectionLeaderForm(viewer.this_season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.name_section_leader(actor=viewer.signed_in, leader=form.instance),
        )
        if saved is not None:
            done(request, f"{saved.member} hears {saved.instrument}.")
            return redirect("excerpts")
    context = {"form": form, "title": "Section leader", "back": reverse("excerpts")}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def end_leader(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """They lead the section no more."""
    rows = SectionLeader.objects.select_related("member__person", "instrument")
    it = get_object_or_404(rows, pk=pk, member__season=viewer.this_season)
    services.end_section_leader(actor=viewer.signed_in, leader=it)
    done(request, f"{it.member} no longer leads {it.instrument}.")
    return redirect("excerpts")


@page(rules.member, "my-music")
def my_music(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What one has to pass, and has."""
    assert viewer.member is not None
    passings = queries.passings_of(viewer.member)
    context = {"passings": passings, "hears": hears_some(viewer)}
    return keep_copy(viewer, render(request, "music/mine.html", context))
