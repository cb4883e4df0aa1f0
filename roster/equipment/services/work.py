"""Repair, alteration and cleaning: tickets, and what goes out together."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.equipment import queries
from roster.equipment.enums import AT_HAND, ItemState
from roster.equipment.models import Inspection, Issue, Item, Run, Ticket
from roster.equipment.models.items import tag_key
from roster.equipment.services.moves import at_hand, locked, out_with, put
from roster.people.models import Member, Season


def due_by_default(season: Season, today: datetime.date) -> datetime.date | None:
    """The day before the next inspection, if there is one."""
    inspection = queries.next_inspection(season, today)
    if inspection is None:
        return None
    return max(today, inspection.date - datetime.timedelta(days=1))


def open_ticket(
    *, actor: User, item: Item, work: str, what: str = "", due: datetime.date | None = None
) -> Ticket:
    """Work on an item begins: it is away until the ticket is closed."""
    with recorded(actor, "open ticket"):
        return _open(actor, locked(item), work, what, due, None)


def _open(
    actor: User, item: Item, work: str, what: str, due: datetime.date | None, run: Run | None
) -> Ticket:
    if item.state not in AT_HAND:
        raise Refused(f"{item} is {item.get_state_display()}: it cannot go away now.")
    now = timezone.now()
    ticket = Ticket(
        item=item, work=work, what=what, run=run, opened_at=now, opened_by=actor, due=due
    )
    ticket.full_clean()
    ticket.save()
    issue = out_with(item)
    put(item, work, actor, member=issue.member if issue else None, note=what)
    return ticket


def close_ticket(
    *, actor: User, ticket: Ticket, condition: int | None = None, cents: int | None = None
) -> Ticket:
    """The item is back: with its member, or in store."""
    with recorded(actor, "close ticket"):
        _close(actor, ticket, condition, cents)
    return ticket


def _close(actor: User, ticket: Ticket, condition: int | None, cents: int | None) -> None:
    item = locked(ticket.item)
    ticket.refresh_from_db()
    if ticket.closed_at is not None:
        raise Refused(f"{item} is back already.")
    ticket.closed_at = timezone.now()
    if cents is not None:
        ticket.cents = cents
    ticket.save()
    if condition is not None:
        item.condition = condition
    issue = out_with(item)
    put(item, at_hand(item), actor, member=issue.member if issue else None)


def send_out(
    *,
    actor: User,
    work: str,
    place: str,
    items: Sequence[Item],
    due: datetime.date | None = None,
) -> Run:
    """Items go out together. Refused where one of them cannot, with every such one named."""
    with recorded(actor, "send out"):
        if not items:
            raise Refused("Choose what goes out.")
        kept = [locked(item) for item in sorted(items, key=lambda i: i.pk)]
        faults = [f"{i} is {i.get_state_display()}." for i in kept if i.state not in AT_HAND]
        if faults:
            raise Refused("These cannot go out now.", tuple(faults))
        run = Run(work=work, place=place, sent_at=timezone.now(), sent_by=actor, due=due)
        run.full_clean()
        run.save()
        for item in kept:
            _open(actor, item, work, "", due, run)
    return run


@dataclass(frozen=True)
class Count:
    """A run counted: what is back, what is not yet with whose it is, and tags nobody sent."""

    back: tuple[Item, ...]
    missing: tuple[tuple[Item, Member | None], ...]
    unknown: tuple[str, ...]


def count_back(*, actor: User, run: Run, tags: Collection[str]) -> Count:
    """What came back, by its tags. What did not is named with its wearer and stays away."""
    with recorded(actor, "count back"):
        wanted = {key: tag.strip() for tag in tags if (key := tag_key(tag))}
        rows = run.tickets.filter(closed_at__isnull=True).select_related("item__kind")
        there = {ticket.item.tag_key: ticket for ticket in rows}
        back = [there[key] for key in wanted if key in there]
        for ticket in back:
            _close(actor, ticket, None, None)
        left = [t.item for key, t in there.items() if key not in wanted]
        known = set(run.tickets.values_list("item__tag_key", flat=True))
        if not left:
            run.closed_at = timezone.now()
            run.save()
    return Count(
        tuple(t.item for t in back),
        tuple(with_wearers(left)),
        tuple(tag for key, tag in wanted.items() if key not in known),
    )


def close_run(*, actor: User, run: Run) -> tuple[Item, ...]:
    """Nothing more comes back: what is still away is missing."""
    with recorded(actor, "count back"):
        lost = []
        for ticket in run.tickets.filter(closed_at__isnull=True).select_related("item__kind"):
            item = locked(ticket.item)
            ticket.closed_at = timezone.now()
            ticket.save()
            issue = out_with(item)
            member = issue.member if issue else None
            note = f"did not come back from {run.place}"
            put(item, ItemState.MISSING, actor, member=member, note=note)
            lost.append(item)
        run.closed_at = timezone.now()
        run.save()
    return tuple(lost)


def with_wearers(items: Collection[Item]) -> list[tuple[Item, Member | None]]:
    """Items with the members whose they are."""
    rows = Issue.objects.filter(item__in=list(items), returned_at__isnull=True)
    whose = {issue.item_id: issue.member for issue in rows.select_related("member__person")}
    return [(item, whose.get(item.pk)) for item in items]


def save_inspection(*, actor: User, inspection: Inspection) -> Inspection:
    """Set a day on which everything has to be right."""
    with recorded(actor, "save inspection"):
        inspection.full_clean()
        inspection.save()
    return inspection


def remove_inspection(*, actor: User, inspection: Inspection) -> None:
    """It does not take place."""
    with recorded(actor, "remove inspection"):
        inspection.delete()
