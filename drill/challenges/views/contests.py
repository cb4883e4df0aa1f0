"""Contests: staff's rounds, and the pages on which alternates ask for a spot."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.dates import day_words
from bandops.lib.errors import Refused
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import allow, back, page
from drill.challenges.forms import CriterionForm, ProtectForm, RoundForm, SignUpForm
from drill.challenges.models import Contest, ContestCriterion, ContestRound, ProtectedSpot
from drill.challenges.rules import may_call_off
from drill.challenges.services import contest_tables as tables
from drill.challenges.services import contests as services
from drill.challenges.services import rounds as round_services
from drill.challenges.services.protection import in_force
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries

MENU = "contests"


@page(rules.staff, MENU)
def contests(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The season's rounds, what is marked, and which spots are protected."""
    season = viewer.this_season
    rounds = ContestRound.objects.filter(season=season).select_related("season", "effective")
    context = {
        "rounds": rounds.prefetch_related("contests"),
        "now": timezone.now(),
        "criteria": ContestCriterion.objects.filter(season=season),
        "protections": _protections(viewer),
    }
    return render(request, "challenges/list.html", context)


def _protections(viewer: Viewer) -> list[ProtectedSpot]:
    rows = in_force(viewer.this_season).select_related("spot__rank", "protected_by")
    return list(rows.order_by("spot__rank__order", "spot__number"))


@page(rules.staff, MENU)
def edit_round(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A new round, or changes of one."""
    season = viewer.this_season
    it = get_object_or_404(ContestRound, pk=pk, season=season) if pk else ContestRound()
    form = RoundForm(season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: round_services.save_round(actor=viewer.signed_in, round_=form.instance)
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("round", pk=saved.pk)
    url = reverse("round", args=[pk]) if pk else reverse("contests")
    context = {
        "form": form,
        "title": f"Change {it}" if pk else "New round",
        "lead": f"Times are of {season.time_zone}.",
        "back": url,
    }
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def contest_round(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A round's contests; staff sign somebody up here."""
    it = _round(viewer, pk)
    form = SignUpForm(viewer.this_season, viewer.is_director, request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = save_through(form, lambda: _sign_up(viewer, it, form))
        if made is not None:
            done(request, _asked(made, it))
            return redirect("round", pk=made.round_id)
    context = {"round": it, "spots": tables.spot_contests(it), "form": form}
    return render(request, "challenges/round.html", context)


def _sign_up(viewer: Viewer, round_: ContestRound, form: SignUpForm) -> Contest:
    data = form.cleaned_data
    return services.ask_for_spot(
        actor=viewer.signed_in,
        round_=round_,
        spot=data["spot"],
        challenger=data["member"],
        at=timezone.now(),
        may_be_late=viewer.is_director and bool(data.get("late")),
    )


def _asked(made: Contest, seen: ContestRound) -> str:
    if made.round_id == seen.pk:
        return f"{made} is in {made.round}."
    return f"Sign-up for {seen} is closed: {made} waits for {made.round}."


@page(rules.staff, MENU)
def criteria(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What contests are marked on; one more is added here."""
    season = viewer.this_season
    form = CriterionForm(season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: round_services.save_criterion(actor=viewer.signed_in, criterion=form.instance),
        )
        if saved is not None:
            done(request, f"“{saved}” is added.")
            return redirect("contest-criteria")
    rows = ContestCriterion.objects.filter(season=season)
    return render(request, "challenges/criteria.html", {"criteria": rows, "form": form})


@page(rules.staff, MENU)
def edit_criterion(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change what is marked."""
    it = get_object_or_404(ContestCriterion, pk=pk, season=viewer.this_season)
    form = CriterionForm(viewer.this_season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: round_services.save_criterion(actor=viewer.signed_in, criterion=form.instance),
        )
        if saved is not None:
            done(request, f"“{saved}” is saved.")
            return redirect("contest-criteria")
    context = {"form": form, "title": f"Change “{it}”", "back": reverse("contest-criteria")}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_criterion(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove what was never marked."""
    it = get_object_or_404(ContestCriterion, pk=pk, season=viewer.this_season)
    round_services.remove_criterion(actor=viewer.signed_in, criterion=it)
    done(request, f"“{it}” is removed.")
    return redirect("contest-criteria")


@require_POST
@page(rules.staff, MENU)
def start_criteria(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A sensible set to begin with."""
    added = round_services.add_starters(actor=viewer.signed_in, season=viewer.this_season)
    done(request, f"{added} criteria are added. Change what your band does otherwise.")
    return redirect("contest-criteria")


@page(rules.staff, MENU)
def protected_spots(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Spots staff keep closed to contests; one more is protected here."""
    form = ProtectForm(viewer.this_season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        made = save_through(
            form,
            lambda: round_services.protect_spot(
                actor=viewer.signed_in, spot=data["spot"], until=data["until"]
            ),
        )
        if made is not None:
            done(request, _protection_words(made))
            return redirect("protected-spots")
    context = {"form": form, "protections": _protections(viewer)}
    return render(request, "challenges/protected.html", context)


def _protection_words(made: round_services.Protection) -> str:
    spot, words = made.row.spot, made.row.words
    if made.former in ("", words):
        return f"{spot} is protected {words}."
    return f"{spot} was protected {made.former}, now {words}."


@require_POST
@page(rules.staff, MENU)
def lift_protection(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The spot is open to contests again."""
    row = get_object_or_404(
        ProtectedSpot.objects.select_related("spot__rank"),
        pk=pk,
        spot__rank__season=viewer.this_season,
    )
    round_services.lift_protection(actor=viewer.signed_in, row=row)
    done(request, f"{row.spot} is no longer protected by your word.")
    return redirect("protected-spots")


@require_POST
@page(rules.staff, MENU)
def decide(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Decide the round's contests for the spot, with the figures that were on the page."""
    contest = _contest(viewer, pk)
    decided = services.decide_spot(
        actor=viewer.signed_in, contest=contest, seen=request.POST.get("seen", "")
    )
    won = next((c for c in decided if c.state == "won"), None)
    who = f"{won.challenger} wins {won.spot}" if won else f"{contest.holder} keeps {contest.spot}"
    done(request, f"Decided: {who}.")
    return redirect("round", pk=contest.round_id)


@require_POST
@page(rules.staff, MENU)
def take_back(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Open the spot's decision again."""
    contest = _contest(viewer, pk)
    services.take_back(actor=viewer.signed_in, contest=contest)
    done(request, f"The decision about {contest.spot} is taken back; its marks can change again.")
    return redirect("round", pk=contest.round_id)


@require_POST
@page(rules.staff, MENU)
def put_into_effect(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The winner holds the spot."""
    contest = _contest(viewer, pk)
    today = timezone.localdate(timezone=contest.round.zone)
    made = services.put_into_effect(actor=viewer.signed_in, contest=contest, today=today)
    text = f"{contest.challenger} holds {contest.spot} from {day_words(made.holding.starts)}."
    rank = contest.spot.rank
    if contest.holder_id in (rank.leader_id, rank.second_id):
        text += f"\n{contest.holder} is still leader or second of {rank}: change that if need be."
    for lineup in made.stale:
        text += f"\n{lineup} was published before: make a new one from {lineup.event}'s page."
    done(request, text)
    return redirect("round", pk=contest.round_id)


@require_POST
@page(rules.belongs, MENU)
def call_off(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A contest does not take place: staff's word, or the challenger's before it is held."""
    contest = _contest(viewer, pk)
    allow(may_call_off(viewer, contest, timezone.now()))
    services.call_off(actor=viewer.signed_in, contest=contest)
    done(request, f"The contest for {contest.spot} is called off.")
    return back(request, "contests" if viewer.is_staff else "my-contests")


@page(rules.member, "my-contests")
def my_contests(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """An alternate asks for a spot; everybody sees their own contests."""
    season, me = viewer.this_season, viewer.member
    assert me is not None
    now = timezone.now()
    if request.method == "POST":
        seen, made = _ask(request, viewer)
        text = f"You have asked for {made.spot} in {made.round}."
        if seen.pk != made.round_id:
            text = f"Sign-up for {seen} is closed. {made.spot} waits for {made.round}."
        done(request, text)
        return redirect("my-contests")
    sign_up = tables.sign_up(season, now)
    own = tables.own_contests(season, me, now)
    context = {
        "sign_up": sign_up,
        "asked": next((o for o in own if o.asks_in(sign_up.round)), None),
        "spots": tables.askable(sign_up.round, me) if sign_up.round else [],
        "own": own,
    }
    return render(request, "challenges/mine.html", context)


def _ask(request: HttpRequest, viewer: Viewer) -> tuple[ContestRound, Contest]:
    round_id = lib_forms.whole_number(request.POST.get("round", ""))
    spot_id = lib_forms.whole_number(request.POST.get("spot", ""))
    if round_id is None or spot_id is None:
        raise Refused("Choose a spot.")
    seen = _round(viewer, round_id)
    spot = get_object_or_404(rank_queries.spots(viewer.this_season), pk=spot_id)
    assert viewer.member is not None
    made = services.ask_for_spot(
        actor=viewer.signed_in,
        round_=seen,
        spot=spot,
        challenger=viewer.member,
        at=timezone.now(),
    )
    return seen, made


def _round(viewer: Viewer, pk: int) -> ContestRound:
    rounds = ContestRound.objects.select_related("season", "effective")
    return get_object_or_404(rounds, pk=pk, season=viewer.this_season)


def _contest(viewer: Viewer, pk: int) -> Contest:
    return get_object_or_404(tables.contests(viewer.this_season), pk=pk)
