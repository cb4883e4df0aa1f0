"""Fundamentals: the list, one with its footprints, the band's own, who has passed, study sheet."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.outbox.progress import file_response
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.fundamentals.core import Fundamental as Movement
from drill.fundamentals.forms import FundamentalForm, as_typed
from drill.fundamentals.models import Fundamental, PassedFundamental
from drill.fundamentals.pdf import render_study_sheet
from drill.fundamentals.services import examples as example_services
from drill.fundamentals.services import fundamentals as services
from drill.fundamentals.services.studying import Study, studies, study
from drill.fundamentals.wording import counts_text, turn_text
from roster.people import queries as people_queries
from roster.people.enums import Paper
from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.ranks.models import Rank

A_PAGE = 40
FEW = 8
"""fundamentals on the study sheet that all stand open"""
MENU = "fundamentals"


@page(rules.staff, MENU)
def fundamentals(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """All fundamentals with counts, turn and picture."""
    own = set(Fundamental.objects.filter(season=viewer.this_season).values_list("code", flat=True))
    lines = [(it, *_words(it.of), _origin(it.of.code, own)) for it in studies(viewer.this_season)]
    return render(request, "fundamentals/list.html", {"lines": lines})


def _words(it: Movement) -> tuple[str, str]:
    return counts_text(it), turn_text(it.turn)


def _origin(code: str, own: set[str]) -> str:
    if code not in own:
        return ""
    return "our way" if code in services.built_in() else "our own"


@page(rules.staff, MENU)
def examples(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Fundamentals to add: examples, and the band's own of earlier seasons, each with a picture."""
    season = viewer.this_season
    known = services.fundamentals_of(season)
    lines = [
        (offer, study(offer.of, known), *_words(offer.of))
        for offer in example_services.offers(season)
    ]
    return render(request, "fundamentals/examples.html", {"lines": lines})


@require_POST
@page(rules.staff, MENU)
def add_example(request: HttpRequest, viewer: Viewer, code: str) -> HttpResponse:
    """One of them becomes the band's own."""
    added = example_services.add_offered(
        actor=viewer.signed_in, season=viewer.this_season, code=code
    )
    done(request, f"{added.name.capitalize()} is added to your fundamentals.")
    return redirect("fundamental-examples")


@page(rules.staff, MENU)
def fundamental(request: HttpRequest, viewer: Viewer, code: str) -> HttpResponse:
    """A fundamental: footprints, counts in numbers, what is ambiguous, who has passed it."""
    it = _study(viewer, code)
    counts, turn = _words(it.of)
    passed = PassedFundamental.objects.filter(code=code, member__season=viewer.this_season)
    own = Fundamental.objects.filter(season=viewer.this_season, code=code).exists()
    context = {
        "study": it,
        "counts": counts,
        "turn": turn,
        "rows": [(row, turn_text(row.facing), turn_text(row.horns)) for row in it.rows],
        "origin": _origin(code, {code} if own else set()),
        "passed": passed.count(),
    }
    return render(request, "fundamentals/fundamental.html", context)


def _study(viewer: Viewer, code: str) -> Study:
    known = services.fundamentals_of(viewer.this_season)
    if code not in known:
        raise Http404
    return study(known[code], known)


@page(rules.staff, MENU)
def edit_fundamental(request: HttpRequest, viewer: Viewer, code: str | None = None) -> HttpResponse:
    """One of the band's own, or its way of a built-in."""
    season = viewer.this_season
    it = _study(viewer, code).of if code else None
    form = FundamentalForm(request.POST or None, initial=as_typed(it) if it else None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.save_fundamental(
                actor=viewer.signed_in, season=season, definition=form.definition(), code=code
            ),
        )
        if saved is not None:
            done(request, f"{saved.name} is saved.")
            return redirect("fundamental", code=saved.code)
    context = {
        "form": form,
        "title": f"Change {it.name}" if it else "New fundamental",
        "lead": "Steps are 8-to-5. Use − for left and backward.",
        "back": reverse("fundamental", args=[code]) if code else reverse("fundamentals"),
    }
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_fundamental(request: HttpRequest, viewer: Viewer, code: str) -> HttpResponse:
    """The band's own goes; of a built-in its own way goes."""
    row = get_object_or_404(Fundamental, season=viewer.this_season, code=code)
    services.remove_fundamental(actor=viewer.signed_in, row=row)
    if code in services.built_in():
        done(request, f"{row.name} is back to the usual way.")
        return redirect("fundamental", code=code)
    done(request, f"{row.name} is removed.")
    back = "fundamental-examples" if "examples" in request.POST else "fundamentals"
    return redirect(back)


@page(rules.staff, MENU)
def passed(request: HttpRequest, viewer: Viewer, code: str) -> HttpResponse:
    """Who has passed a fundamental, rank by rank; staff note many at once."""
    season, it = viewer.this_season, _study(viewer, code).of
    if request.method == "POST":
        return _note(request, viewer, it)
    rank = _rank(viewer, request.GET.get("rank", ""))
    members = _members(viewer, rank)
    rows = PassedFundamental.objects.filter(code=code, member__season=season)
    since = dict(rows.values_list("member_id", "passed_on"))
    every = [(m, since.get(m.pk)) for m in members.order_by("person__sort_key", "pk")]
    shown = Paginator(every, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "fundamental": it,
        "lines": shown.object_list,
        "page": shown,
        "many": len(every),
        "count": sum(1 for _, day in every if day),
        "ranks": Rank.objects.filter(season=season),
        "rank": rank,
    }
    return render(request, "fundamentals/passed.html", context)


def _rank(viewer: Viewer, text: str) -> Rank | None:
    pk = lib_forms.whole_number(text)
    return get_object_or_404(Rank, pk=pk, season=viewer.this_season) if pk is not None else None


def _members(viewer: Viewer, rank: Rank | None) -> QuerySet[Member]:
    """A rank's active members, or everybody's."""
    season = viewer.this_season
    return (
        rank_queries.members_of_ranks(season, [rank.pk])
        if rank
        else people_queries.active_members(season)
    )


def _note(request: HttpRequest, viewer: Viewer, it: Movement) -> HttpResponse:
    rank = _rank(viewer, request.POST.get("rank", ""))
    chosen = _members(viewer, rank)
    if "all" not in request.POST:
        typed = [lib_forms.whole_number(pk) for pk in request.POST.getlist("member")]
        chosen = Member.objects.filter(pk__in=[pk for pk in typed if pk], season=viewer.this_season)
    what = request.POST.get("what", "")
    if what not in ("passed", "not"):
        raise Refused("Choose what to mark.")
    changed = services.note_passed(
        actor=viewer.signed_in,
        season=viewer.this_season,
        code=it.code,
        members=chosen,
        passed=what == "passed",
        on=viewer.this_season.today(),
    )
    word = "have passed" if what == "passed" else "have not passed"
    done(request, f"Saved: {changed} more {word} {it.name}.")
    url = reverse("fundamental-passed", args=[it.code])
    asked = {"rank": rank.pk} if rank else {}
    turned = request.GET.get("page")
    query = urlencode(asked | ({"page": turned} if turned else {}))
    return redirect(f"{url}?{query}" if query else url)


@page(rules.staff, MENU)
def study_sheet(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Choose fundamentals, see their footprints, print them for candidates. Until somebody
    chooses, it shows what the season's evaluation sequences judge."""
    season = viewer.this_season
    known = services.fundamentals_of(season)
    judged = services.judged(season) & known.keys()
    asked = request.GET
    if "all" in asked:
        chosen = set(known)
    elif "chosen" in asked or "code" in asked:
        chosen = known.keys() & set(asked.getlist("code"))
    else:
        chosen = judged
    shown = studies(season, list(chosen)) if chosen else []
    context = {
        "choices": [(it, it.code in chosen) for it in known.values()],
        "judged": [it.name for it in known.values() if it.code in judged],
        "lines": [(it, *_words(it.of)) for it in shown],
        "query": urlencode({"code": [it.of.code for it in shown]}, doseq=True),
        "papers": Paper.choices,
        "few": FEW,
    }
    return render(request, "fundamentals/study.html", context)


@page(rules.staff, MENU)
def study_sheet_file(request: HttpRequest, viewer: Viewer, paper: str) -> HttpResponse:
    """The study sheet as a print."""
    if paper not in Paper.values:
        raise Http404
    made = render_study_sheet(viewer.this_season, request.GET.getlist("code"), paper=paper)
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")
