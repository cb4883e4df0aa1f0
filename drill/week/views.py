"""The start page and the staff's week."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from bandops.lib.keys import key
from bandops.lib.outbox.models import Artifact
from bandops.lib.steps import Step
from bandops.lib.web import rules
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import page
from drill.absences.queries import reported_absences
from drill.backups.core.coverage import State
from drill.backups.services.coverage import lineup_to_show
from drill.events import queries as event_queries
from drill.events.models import Event, Traveller
from drill.gameday.services import requests
from drill.gameday.services.to_decide import to_decide
from drill.lineup import queries as lineup_queries
from drill.lineup.core.dressing import needs
from drill.lineup.core.rules import Facts
from drill.lineup.models import Lineup
from drill.lineup.rules import may_edit_lineup, past_cut_off
from drill.lineup.services.drafts import draft_changes, is_stale
from drill.lineup.services.problem_builder import Built, build_to_show, doubtful_in
from drill.lineup.services.proposals import placements_of
from drill.lineup.sheets import Seat, Sheets, sheets_to_show
from drill.publishing import queries as publishing_queries
from drill.publishing.services.print_jobs import group_of
from drill.week.services import first_run, weeks_of
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries
from roster.tryouts.rules import evaluates_now, is_candidate


@page(rules.anyone)
def home(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Each role's own first page."""
    if viewer.user is None:
        return redirect("sign-in")
    if viewer.season is None:
        return render(request, "week/no_season.html")
    if viewer.is_staff:
        return redirect("week")
    if viewer.is_rank_leader:
        return redirect("my-rank")
    if viewer.is_member:
        return redirect("card")
    if viewer.is_equipment_manager:
        return redirect("equipment")
    if viewer.is_evaluator:
        return redirect("marking" if evaluates_now(viewer) else "marks")
    if is_candidate(viewer):
        return redirect("my-tryout")
    return render(request, "week/no_role.html")


@page(rules.staff, "week")
def week(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """What stands between now and a published lineup, each line with the page that settles it."""
    season = viewer.this_season
    events = event_queries.events(season)
    event = get_object_or_404(events, pk=pk) if pk else event_queries.next_event(season)
    if event is None:
        context = {"state": rank_queries.set_up(season), "step": _first_step(viewer)}
        return render(request, "week/empty.html", context)
    event.season = season
    draft, last = lineup_queries.draft(event), lineup_queries.published(event)
    shown = draft or last
    built = build_to_show(event)
    laid_out = sheets_to_show(shown, built.over) if shown else None
    reported = reported_absences(season).count()
    context = {
        "event": event,
        "weeks": weeks_of(season, events),
        "draft": draft,
        "last": last,
        "sheets": laid_out,
        "holes": laid_out.by_spot(_to_come(laid_out.holes, built)) if laid_out else [],
        "doubtful_spots": laid_out.by_spot(_to_come(laid_out.doubtful, built)) if laid_out else [],
        "stale": shown is not None and is_stale(shown, built),
        "changed": draft_changes(draft, last) if draft else 0,
        "to_decide": reported,
        "away": _away_names(built),
        "doubtful": doubtful_in(built),
        "at_home": len(built.at_home),
        "needs_travel_list": event.travel_limit is not None
        and event_queries.travellers(event) is None,
        "over_limit": _over_limit(event),
        "unreached": _unreached(last),
        "clashes": to_decide(event),
        "asked": requests.waiting_requests(viewer, event, built),
        "prints": Artifact.objects.filter(group=group_of(last)) if last else (),
        "cut_off_passed": past_cut_off(event),
        "may_edit": may_edit_lineup(viewer, event),
        "step": _next_step(event, draft, last, laid_out, built, reported),
        "over": event.is_over(),
        "to_dress": _to_dress(shown, built),
        "days_left": (event.date - season.today()).days,
        "covered": _coverage_counts(event, shown, built),
    }
    return keep_copy(viewer, render(request, "week/week.html", context))


def _coverage_counts(event: Event, shown: Lineup | None, built: Built) -> dict[str, int]:
    """How many spots are thin, and how many bare."""
    if shown is None:
        return {}
    found = lineup_to_show(event, shown, built)
    states = list(found.worst(found.segments).values())
    return {state.value: states.count(state) for state in (State.THIN, State.BARE)}


def _to_dress(shown: Lineup | None, built: Built) -> int:
    """How many of those who march have to be given something to wear."""
    if shown is None or not built.problem.wears:
        return 0
    facts = Facts(built.problem)
    rows = (
        p
        for p in placements_of(shown)
        if p.member is None or (p.member in facts.members and p.spot in facts.spots)
    )
    return len({member for of in needs(facts, rows).values() for member in of})


def _away_names(built: Built) -> list[tuple[str, int]]:
    """Members who miss a marching segment, with how many they miss; nobody who only stays at
    home."""
    return [(built.members[m].name, len(missed)) for m, missed in built.absent.items()]


def _over_limit(event: Event) -> int:
    """How many more people are on the travel list, draft or posted, than may travel."""
    if event.travel_limit is None:
        return 0
    listed = Traveller.objects.filter(list__event=event).count()
    return max(0, listed - event.travel_limit)


def _unreached(last: Lineup | None) -> int:
    if last is None:
        return 0
    return len(publishing_queries.unreached(last))


def _first_step(viewer: Viewer) -> Step:
    state = rank_queries.set_up(viewer.this_season)
    if not state.has_people:
        return Step("Set up the season", reverse("set-up"))
    return first_run(viewer.this_season)


def _to_come(seats: list[Seat], built: Built) -> list[Seat]:
    """Without those of segments that are over."""
    return [seat for seat in seats if key(seat.row.segment_id) not in built.over]


def _next_step(
    event: Event,
    draft: Lineup | None,
    last: Lineup | None,
    laid_out: Sheets | None,
    built: Built,
    to_decide: int,
) -> Step:
    if event.is_over():
        if last is None:
            return Step("See all events", reverse("events"))
        return Step("Who really marched", reverse("record-of", args=[event.pk]))
    lineup_url = reverse("lineup", args=[event.pk])
    proposal_url = reverse("proposal", args=[event.pk])
    if to_decide:
        noun = "absence" if to_decide == 1 else "absences"
        return Step(f"Decide {to_decide} reported {noun}", reverse("absences"))
    if laid_out is None:
        return Step("Make the lineup", lineup_url)
    if is_stale(laid_out.lineup, built):
        return Step("See the new proposal", proposal_url)
    if draft is not None and (last is None or draft_changes(draft, last)):
        number = 1 if last is None else (last.number or 0) + 1
        return Step(f"Publish revision {number}", reverse("publish", args=[event.pk]))
    holes = laid_out.by_spot(_to_come(laid_out.holes, built))
    if holes:
        noun = "spot" if len(holes) == 1 else "spots"
        row = holes[0][0].row
        where = f"?segment={row.segment_id}&spot={row.spot_id}"
        return Step(f"Fill {len(holes)} open {noun}", lineup_url + where)
    return Step("Look at the lineup", lineup_url)
