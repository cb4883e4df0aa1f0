"""The solver's proposal beside the draft."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import allow, page
from drill.events.posted import event_of
from drill.lineup import queries
from drill.lineup.core.problem import Level, Origin
from drill.lineup.core.solver import ContradictoryPins, NoLineup, OutOfWork
from drill.lineup.models import Lineup
from drill.lineup.posted import posted_version
from drill.lineup.rules import may_edit_lineup
from drill.lineup.services import lineups
from drill.lineup.services.problem_builder import Built, build_to_show
from drill.lineup.services.proposals import Proposal, against, against_own_places, propose
from drill.lineup.views.shown import no_lineup_context
from drill.lineup.wording import LEVELS, Names, member_change_sentence, price_text
from roster.people.viewer import Viewer

MENU = "lineup"


@page(rules.staff, MENU)
def proposal(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The solver's lineup against the draft, and the answers beside the answer."""
    event = event_of(viewer, pk)
    if request.method == "POST":
        allow(may_edit_lineup(viewer, event))
        lineups.take_proposal(
            actor=viewer.signed_in,
            event=event,
            seen_version=posted_version(request),
            digest=request.POST.get("digest", ""),
        )
        done(request, "The proposal is the draft now.")
        return redirect("lineup", pk=event.pk)
    built = build_to_show(event)
    try:
        answer = propose(built)
    except (ContradictoryPins, NoLineup, OutOfWork) as error:
        return render(request, "lineup/no_draft.html", no_lineup_context(event, error))
    shown = queries.draft(event) or queries.published(event)
    context = _proposal_context(built, answer, shown)
    context |= {"event": event, "may_edit": may_edit_lineup(viewer, event)}
    return render(request, "lineup/proposal.html", context)


def _proposal_context(built: Built, made: Proposal, shown: Lineup | None) -> dict[str, Any]:
    names = Names(built.event.season_id)
    changes = against(shown, made) if shown else against_own_places(made)
    is_draft = shown is not None and shown.number is None
    return {
        "answer": made.answer,
        "version": shown.version if shown is not None and is_draft else 1,
        "digest": built.problem_hash,
        "changes": [member_change_sentence(c, names) for c in changes],
        "holes": [
            f"{names.segment(p.segment)} {names.spot(p.spot)}"
            for p in made.answer.placements
            if p.origin is Origin.HOLE
        ],
        "levels": [
            (LEVELS[r.level], r.value, r.proven, r.bound)
            for r in made.answer.levels
            if r.level is not Level.TIE
        ],
        "beside": [
            (
                title,
                option,
                price_text(option.price) if option else "",
                option and len(option.changes),
            )
            for title, option in (
                ("Moving no holder", made.without_moves),
                ("With at most one chain", made.one_chain),
            )
            if made.answer.value(Level.MOVED)
        ],
        "shown": shown,
        "undone": _undone(shown, made) if shown is not None and is_draft else [],
    }


def _undone(draft: Lineup, made: Proposal) -> list[str]:
    """What was placed by hand and would not stay."""
    answer = {(p.segment, p.spot): p.member for p in made.answer.placements}
    over = [int(segment) for segment in made.built.over]
    rows = queries.rows(draft).filter(by_hand=True).exclude(segment__in=over)
    return [
        f"{row.segment} {row.spot}: {row.member or 'nobody'}"
        for row in rows
        if answer.get((key(row.segment_id), key(row.spot_id)))
        != (key(row.member_id) if row.member_id else None)
    ]
