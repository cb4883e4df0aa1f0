"""Decision night: the proposal, ties, what-if, changes by hand, signatures, who moves up."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import record_view
from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts.core.cut import Group
from roster.tryouts.enums import OfferKind
from roster.tryouts.forms.deciding import DecisionForm, OfferForm, PostingForm, WhatIfForm
from roster.tryouts.models import Decision, Offer, Tryout
from roster.tryouts.rules import may_open_key
from roster.tryouts.services import answering, proposing, results
from roster.tryouts.services import deciding as services
from roster.tryouts.services import figures as figure_services
from roster.tryouts.services.candidates import missing_items
from roster.tryouts.views.candidates import KEY
from roster.tryouts.views.figures import unsettled
from roster.tryouts.views.frame import MENU, show, tryout_of

TAB = "tryout-decision"


@page(rules.staff, MENU)
def decision(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Where the decision stands: a proposal, a version to sign, or one that counts."""
    it = tryout_of(viewer, pk)
    found = figure_services.figures_to_show(it)
    draft, newest = services.draft(it), services.current(it)
    shown = draft or newest
    instead = unsettled(request, it, found, TAB) if shown is None else None
    if instead is not None:
        return instead
    context: dict[str, Any] = {
        "draft": draft,
        "current": newest,
        "blockers": proposing.blockers(it, found) if it.is_open else [],
        "parts": _by_part(proposing.wanted_by(found), found) if shown is None else [],
        "close": [x for x in found.lines if x.group is Group.CLOSE],
        "trades": found.selection.trades,
        "form": DecisionForm(it),
        "versions": Decision.objects.filter(tryout=it).select_related("first_by", "second_by"),
        "may_open_key": may_open_key(viewer, it),
    }
    if shown is not None:
        context |= _version(viewer, it, shown, found, named=request.GET.get("names") == "1")
    return show(request, it, TAB, "tryouts/decision.html", context)


def _by_part(wanted: list[proposing.Wanted], found: figure_services.Figures) -> list[Any]:
    """(part, quota, spots, alternates) of a proposal."""
    return [
        (
            quota,
            *(
                sorted(
                    (w for w in wanted if w.kind == kind and w.part == quota.part),
                    key=lambda w: w.place,
                )
                for kind in (OfferKind.SPOT, OfferKind.ALTERNATE)
            ),
        )
        for quota in found.quotas
    ]


def _spots_first(offer: Offer) -> tuple[bool, int, int, bool, int]:
    """Part by part, spots before alternates; who has no offer last."""
    part = offer.part
    if part is None:
        return True, 0, 0, True, offer.candidate.number or 0
    stands_by = offer.kind != OfferKind.SPOT
    return False, part.instrument.order, part.order, stands_by, offer.standing or 0


def _version(
    viewer: Viewer,
    tryout: Tryout,
    shown: Decision,
    found: figure_services.Figures,
    *,
    named: bool,
) -> dict[str, Any]:
    """What the page shows of a version: offers by number, by name where the key may be opened."""
    now = timezone.now()
    rows = sorted(services.offers(shown), key=_spots_first)
    named = named and may_open_key(viewer, tryout)
    if named:
        record_view(viewer.signed_in, Tryout._meta.db_table, tryout.pk, KEY)
    lines = found.by_candidate
    asked = [o.candidate for o in rows if shown.is_signed and o.kind != OfferKind.NONE]
    lacks = missing_items(asked, tryout, only_needed=True)
    return {
        "shown": shown,
        "named": named,
        "offers": [
            (o, lines.get(o.candidate_id), o.has_expired(now), lacks.get(o.candidate_id))
            for o in rows
        ],
        "offered": sum(o.kind == OfferKind.SPOT for o in rows),
        "accepted": sum(o.state == "accepted" for o in rows),
        "waiting": sum(o.stands(now) and o.state == "open" for o in rows),
        "over": services.over_quota(shown, found),
        "vacancies": answering.vacancies(tryout, now) if shown.is_signed else None,
        "deadline": services.deadline_of(shown),
        "signed_by_me": shown.first_by_id == viewer.signed_in.pk,
        "told": sum(o.told_at is not None for o in rows),
        "is_posted": results.is_posted(tryout, now),
        "are_told": results.are_told(tryout, now),
    }


@page(rules.staff, MENU)
def what_if(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Who would get what with other numbers of spots."""
    it = tryout_of(viewer, pk)
    found = figure_services.figures_to_show(it)
    if (instead := unsettled(request, it, found, TAB)) is not None:
        return instead
    form = WhatIfForm(list(found.quotas), request.GET if request.GET else None)
    changes: list[proposing.Change] = []
    ties: list[str] = []
    if request.GET and form.is_valid():
        other = found.selection_with(form.asked())
        changes = proposing.changes_between(
            proposing.wanted_by(found), proposing.wanted_by(found, other)
        )
        ties = [proposing.tie_text(found, tie) for tie in other.ties]
    context = {"form": form, "changes": changes, "ties": ties, "asked": bool(request.GET)}
    return show(request, it, TAB, "tryouts/what_if.html", context)


@require_POST
@page(rules.staff, MENU)
def make_decision(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A version by the rules."""
    it = tryout_of(viewer, pk)
    form = DecisionForm(it, request.POST)
    if not form.is_valid():
        context = {"form": form, "title": "Make the decision", "button": "Make it"}
        return render(request, "form_page.html", context)
    made = services.make_decision(
        actor=viewer.signed_in,
        tryout=it,
        reason=form.cleaned_data["reason"],
        expires_at=form.cleaned_data["expires_at"],
    )
    done(request, f"{made} is made. Two people sign it before it counts.", undo=False)
    return redirect("tryout-decision", pk=pk)


def decision_of(tryout: Tryout, pk: int) -> Decision:
    """A version of the tryout; 404 for none."""
    rows = Decision.objects.select_related("tryout__season")
    return get_object_or_404(rows, pk=pk, tryout=tryout)


@require_POST
@page(rules.staff, MENU)
def sign(request: HttpRequest, viewer: Viewer, pk: int, decision_pk: int) -> HttpResponse:
    """One of two signatures."""
    it = decision_of(tryout_of(viewer, pk), decision_pk)
    signed = services.sign(actor=viewer.signed_in, decision=it)
    text = "is signed by two and counts" if signed.is_signed else "has its first signature"
    done(request, f"{signed} {text}.", undo=False)
    return redirect("tryout-decision", pk=pk)


@require_POST
@page(rules.staff, MENU)
def drop(request: HttpRequest, viewer: Viewer, pk: int, decision_pk: int) -> HttpResponse:
    """A version that is not signed goes."""
    it = decision_of(tryout_of(viewer, pk), decision_pk)
    services.drop(actor=viewer.signed_in, decision=it)
    done(request, f"{it} is dropped.", undo=False)
    return redirect("tryout-decision", pk=pk)


@require_POST
@page(rules.director, MENU)
def reopen(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Take marks again."""
    it = tryout_of(viewer, pk)
    services.reopen(actor=viewer.signed_in, tryout=it, reason=request.POST.get("reason", ""))
    done(request, f"{it} takes marks again.", undo=False)
    return redirect("tryout-decision", pk=pk)


@page(rules.staff, MENU)
def change_offer(request: HttpRequest, viewer: Viewer, pk: int, offer_pk: int) -> HttpResponse:
    """Staff's word instead of the rules'."""
    tryout = tryout_of(viewer, pk)
    rows = Offer.objects.select_related("candidate", "part", "decision__tryout__season")
    it = get_object_or_404(rows, pk=offer_pk, decision__tryout=tryout)
    form = OfferForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        saved = save_through(
            form,
            lambda: services.change_offer(
                actor=viewer.signed_in,
                offer=it,
                kind=data["kind"],
                part=data["part"],
                reason=data["reason"],
            ),
        )
        if saved is not None:
            done(request, f"{it.candidate.called}: {saved.words}.")
            return redirect("tryout-decision", pk=pk)
    context = {
        "form": form,
        "title": f"Offer to {it.candidate.called}",
        "lead": f"By the rules: {it.words}. {it.reason}",
        "back": reverse("tryout-decision", args=[pk]),
    }
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def note_answer(request: HttpRequest, viewer: Viewer, pk: int, offer_pk: int) -> HttpResponse:
    """What a candidate told the staff in person."""
    tryout = tryout_of(viewer, pk)
    rows = Offer.objects.select_related("candidate", "decision__tryout__season")
    it = get_object_or_404(rows, pk=offer_pk, decision__tryout=tryout)
    what, now = request.POST.get("what"), timezone.now()
    if what not in ("accepted", "declined", "withdrew"):
        raise Refused("Choose an answer.")
    if what == "withdrew":
        answering.withdraw_offer(actor=viewer.signed_in, offer=it, at=now)
    else:
        accept = what == "accepted"
        answering.answer_offer(actor=viewer.signed_in, offer=it, accept=accept, at=now)
    done(request, f"{it.candidate.called}: noted.", undo=False)
    return redirect("tryout-decision", pk=pk)


@require_POST
@page(rules.staff, MENU)
def take_option(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One of the ways to fill what became free, as a new version."""
    it = tryout_of(viewer, pk)
    made = answering.take_option(
        actor=viewer.signed_in,
        tryout=it,
        key=request.POST.get("option", ""),
        reason=request.POST.get("reason", ""),
        now=timezone.now(),
    )
    done(request, f"{made} is made. Two people sign it before it counts.", undo=False)
    return redirect("tryout-decision", pk=pk)


@page(rules.staff, MENU)
def posting(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """When results are told and posted."""
    it = tryout_of(viewer, pk)
    form = PostingForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: results.set_posting(
                actor=viewer.signed_in,
                tryout=it,
                notes_at=form.cleaned_data["notes_at"],
                posts_at=form.cleaned_data["posts_at"],
            ),
        )
        if saved is not None:
            done(request, "The times are set.", undo=False)
            return redirect("tryout-decision", pk=pk)
    context = {
        "form": form,
        "title": "When results are told",
        "lead": "Everybody learns their own result first; the list follows.",
        "back": reverse("tryout-decision", args=[pk]),
    }
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def tell_all(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Mail the private notes."""
    count = results.tell_all(actor=viewer.signed_in, tryout=tryout_of(viewer, pk))
    done(request, f"{count} private notes are on their way.", undo=False)
    return redirect("tryout-decision", pk=pk)


@require_POST
@page(rules.staff, MENU)
def told(request: HttpRequest, viewer: Viewer, pk: int, offer_pk: int) -> HttpResponse:
    """Somebody was told in person."""
    it = get_object_or_404(Offer, pk=offer_pk, decision__tryout=tryout_of(viewer, pk))
    results.mark_told(actor=viewer.signed_in, rows=[it])
    return redirect("tryout-decision", pk=pk)
