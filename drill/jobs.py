"""The drill's kinds of jobs: prints, rehearsal calls and notices."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.dates import weekday_words
from bandops.lib.outbox.registry import Store, gives_up, handles
from bandops.lib.outbox.running import keep_artifact
from drill.enums import NoticeState
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


@gives_up("drill.notice")
def say_who_was_not_reached(payload: dict[str, Any]) -> None:
    """Somebody has to tell them in person."""
    note_sent(payload["notice"], NoticeState.NOT_REACHED)


@handles("drill.print")
def make_print(payload: dict[str, Any]) -> Store:
    """Render one print of a published lineup and keep it."""
    from drill.pdf.prints import render_print

    lineup = Lineup.objects.select_related("event__season", "published_by").get(
        pk=payload["lineup"]
    )
    made = render_print(lineup, payload["print"], payload["paper"], payload.get("only", ""))
    key, group = f"print:{lineup.code}:{made.name}", group_of(lineup)
    filename = f"{made.name}-r{lineup.number}.pdf"
    return lambda: _keep(key, group, made.title, filename, made.content)


@handles("drill.call")
def make_call(payload: dict[str, Any]) -> Store:
    """Render the rehearsal call of all ranks and keep it."""
    from drill.pdf.calls import render_call

    event = Event.objects.select_related("season").get(pk=payload["event"])
    at = timezone.now()
    made = render_call(event, paper=payload["paper"], with_draft=True, now=at)
    local = at.astimezone(event.zone)
    title = f"{made.title}, made {weekday_words(local)} {local:%H:%M}"
    group = call_group(event)
    key, filename = f"{group}:{payload['key']}", f"{made.name}.pdf"
    return lambda: _keep(key, group, title, filename, made.content)


@handles("drill.plan")
def make_cover_plan(payload: dict[str, Any]) -> Store:
    """Compute an event's cover plan and keep its lessons and figures."""
    from drill.services.plans import compute_plan, store_plan

    plan = CoverPlan.objects.select_related("event__season").get(pk=payload["plan"])
    actor = User.objects.get(pk=payload["actor"])
    made = compute_plan(plan)
    return lambda: store_plan(actor=actor, plan=plan, made=made)


@handles("drill.travel")
def print_travel_list(payload: dict[str, Any]) -> Store:
    """Render a posted travel list; one that was changed or taken back since is left out."""
    from drill.pdf.travel import render_travel_list

    lists = TravelList.objects.select_related("event__season")
    it = lists.filter(pk=payload["list"], posted_at=payload["posted"]).first()
    if it is None:
        return lambda: None
    made = render_travel_list(it, payload["paper"])
    paper, group = payload["paper"], travel_group(it)
    key, filename = f"{print_key(it)}{paper}", f"travel-list-{paper}.pdf"
    return lambda: _keep(key, group, made.title, filename, made.content)


def _keep(key: str, group: str, title: str, filename: str, content: bytes) -> None:
    keep_artifact(
        key=key,
        group=group,
        title=title,
        filename=filename,
        content_type="application/pdf",
        content=content,
    )
