"""The drill's kinds of jobs: prints, rehearsal calls and notices."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.outbox.registry import Store, handles
from bandops.lib.outbox.running import keep_artifact
from drill.models import CoverPlan, Event, Lineup, TravelList
from drill.services.calls import call_group
from drill.services.notices import note_sent, send_notice
from drill.services.publishing import group_of
from drill.services.travel import group_of as travel_group
from drill.services.travel import print_key


@handles("drill.notice")
def deliver_notice(payload: dict[str, Any]) -> Store:
    """Send one member's notice."""
    notice_id = payload["notice"]
    state = send_notice(notice_id)
    return lambda: note_sent(notice_id, state)


@handles("drill.print")
def make_print(payload: dict[str, Any]) -> Store:
    """Render one print of a published lineup and keep it."""
    from drill.pdf.prints import render_print

    lineup = Lineup.objects.select_related("event__season", "published_by").get(
        pk=payload["lineup"]
    )
    made = render_print(lineup, payload["print"], payload["paper"], payload.get("only", ""))
    return lambda: _keep(lineup, made.name, made.title, made.content)


@handles("drill.call")
def make_call(payload: dict[str, Any]) -> Store:
    """Render the rehearsal call of all ranks and keep it."""
    from drill.pdf.calls import render_call

    event = Event.objects.select_related("season").get(pk=payload["event"])
    at = timezone.now()
    made = render_call(event, paper=payload["paper"], with_draft=True, now=at)
    title = f"{made.title}, made {at.astimezone(event.zone):%a %d %b %H:%M}"
    return lambda: _keep_call(event, payload["key"], title, made.name, made.content)


def _keep_call(event: Event, key: str, title: str, name: str, content: bytes) -> None:
    keep_artifact(
        key=f"{call_group(event)}:{key}",
        group=call_group(event),
        title=title,
        filename=f"{name}.pdf",
        content_type="application/pdf",
        content=content,
    )


@handles("drill.plan")
def make_cover_plan(payload: dict[str, Any]) -> Store:
    """Compute an event's cover plan and keep its lessons and figures."""
    from drill.services.plans import compute_plan, store_plan

    plan = CoverPlan.objects.select_related("event__season").get(pk=payload["plan"])
    actor = User.objects.get(pk=payload["actor"])
    found, made = compute_plan(plan)
    return lambda: store_plan(actor=actor, plan=plan, found=found, made=made)


@handles("drill.travel")
def print_travel_list(payload: dict[str, Any]) -> Store:
    """Render a posted travel list; one that was changed or taken back since is left out."""
    from drill.pdf.travel import render_travel_list

    lists = TravelList.objects.select_related("event__season")
    it = lists.filter(pk=payload["list"], posted_at=payload["posted"]).first()
    if it is None:
        return lambda: None
    made = render_travel_list(it, payload["paper"])
    return lambda: _keep_travel_list(it, payload["paper"], made.title, made.content)


def _keep_travel_list(it: TravelList, paper: str, title: str, content: bytes) -> None:
    keep_artifact(
        key=f"{print_key(it)}{paper}",
        group=travel_group(it),
        title=title,
        filename=f"travel-list-{paper}.pdf",
        content_type="application/pdf",
        content=content,
    )


def _keep(lineup: Lineup, name: str, title: str, content: bytes) -> None:
    keep_artifact(
        key=f"print:{lineup.code}:{name}",
        group=group_of(lineup),
        title=title,
        filename=f"{name}-r{lineup.number}.pdf",
        content_type="application/pdf",
        content=content,
    )
