"""Challenges: staff's rounds, and the pages on which members ask for a spot."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from bandops.lib.errors import Refused
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.challenges.forms import RoundForm, SignUpForm
from drill.challenges.models import Challenge, ChallengeCriterion, ChallengeRound
from drill.challenges.services import challenges as services
from drill.challenges.services import own_challenges, reach, spot_challenges
from drill.challenges.services import rounds as round_services
from drill.challenges.views.protections import protections_of
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries

MENU = "challenges"


@page(rules.staff, MENU)
def challenges(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The season's rounds, what is marked, and which spots are protected."""
    season = viewer.this_season
    rounds = ChallengeRound.objects.filter(season=season).select_related("season", "effective")
    context = {
        "rounds": rounds.prefetch_related("challenges"),
        "now": timezone.now(),
        "criteria": ChallengeCriterion.objects.filter(season=season),
        "protections": protections_of(viewer),
        "rule": reach.rule_of(season),
    }
    return render(request, "challenges/list.html", context)


@page(rules.staff, MENU)
def edit_round(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A new round, or changes of one."""
    season = viewer.this_season
    it = get_object_or_404(ChallengeRound, pk=pk, season=season) if pk else ChallengeRound()
    form = RoundForm(season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: round_services.save_round(actor=viewer.signed_in, round_=form.instance)
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("round", pk=saved.pk)
    url = reverse("round", args=[pk]) if pk else reverse("challenges")
    context = {
        "form": form,
        "title": f"Change {it}" if pk else "New round",
        "lead": f"Times are by the band's clock ({season.time_zone}).",
        "back": url,
    }
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def challenge_round(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A round's challenges; staff sign somebody up here."""
    it = _round(viewer, pk)
    form = _sign_up_form(request, viewer, it)
    if request.method == "POST" and form.is_valid():
        made = save_through(form, lambda: _sign_up(viewer, it, form))
        if made is not None:
            done(request, _asked(made, it))
            return redirect("round", pk=made.round_id)
    context = {
        "round": it,
        "spots": spot_challenges.spot_challenges(it),
        "form": form,
        "rule": reach.rule_of(it.season),
    }
    return render(request, "challenges/round.html", context)


def _sign_up_form(request: HttpRequest, viewer: Viewer, round_: ChallengeRound) -> SignUpForm:
    """First who, then the spots that the season's rule leaves them."""
    who = reach.challengers(viewer.this_season)
    chosen = lib_forms.whole_number(request.POST.get("member") or request.GET.get("member", ""))
    member = who.filter(pk=chosen).first() if chosen is not None else None
    spots = None
    if member is not None or request.method == "POST":
        found = own_challenges.askable(round_, member) if member is not None else []
        spots = [a.spot.pk for a in found if not a.protected]
    return SignUpForm(
        who, spots, viewer.is_director, request.POST or None, initial={"member": member}
    )


def _sign_up(viewer: Viewer, round_: ChallengeRound, form: SignUpForm) -> Challenge:
    data = form.cleaned_data
    return services.ask_for_spot(
        actor=viewer.signed_in,
        round_=round_,
        spot=data["spot"],
        challenger=data["member"],
        at=timezone.now(),
        may_be_late=viewer.is_director and bool(data.get("late")),
    )


def _asked(made: Challenge, seen: ChallengeRound) -> str:
    if made.round_id == seen.pk:
        return f"{made} is in {made.round}."
    return f"Sign-up for {seen} is closed: {made} waits for {made.round}."


@page(rules.member, "my-challenges")
def my_challenges(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A member asks for a spot that the season's rule leaves them; everybody sees their own
    challenges."""
    season, me = viewer.this_season, viewer.member
    assert me is not None
    now = timezone.now()
    if request.method == "POST":
        seen, made = _ask(request, viewer)
        text = f"You have asked for {made.spot} in {made.round}."
        if seen.pk != made.round_id:
            text = f"Sign-up for {seen} is closed. {made.spot} waits for {made.round}."
        done(request, text)
        return redirect("my-challenges")
    sign_up = own_challenges.sign_up(season, now)
    own = own_challenges.own_challenges(season, me, now)
    context = {
        "sign_up": sign_up,
        "asked": next((o for o in own if o.asks_in(sign_up.round)), None),
        "spots": own_challenges.askable(sign_up.round, me) if sign_up.round else [],
        "rule": reach.rule_of(season),
        "own": own,
    }
    return render(request, "challenges/mine.html", context)


def _ask(request: HttpRequest, viewer: Viewer) -> tuple[ChallengeRound, Challenge]:
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


def _round(viewer: Viewer, pk: int) -> ChallengeRound:
    rounds = ChallengeRound.objects.select_related("season", "effective")
    return get_object_or_404(rounds, pk=pk, season=viewer.this_season)
