"""An item goes from one state to another: the one place that writes it."""

from __future__ import annotations

import datetime

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.equipment.enums import AT_HAND, ItemState
from roster.equipment.models import Issue, Item, Move
from roster.people.models import Member


def locked(item: Item) -> Item:
    """The item as it stands, kept from anybody else until the transaction ends."""
    return Item.objects.select_for_update(of=("self",)).select_related("kind").get(pk=item.pk)


def out_with(item: Item) -> Issue | None:
    """The open issue."""
    rows = Issue.objects.filter(item=item, returned_at__isnull=True)
    return rows.select_related("member__person").first()


def put(
    item: Item,
    state: str,
    actor: User,
    *,
    member: Member | None = None,
    note: str = "",
    at: datetime.datetime | None = None,
) -> None:
    """Write the state and the history's line, inside a transaction that has the item locked."""
    Move.objects.create(
        item=item,
        at=at or timezone.now(),
        by=actor,
        before=item.state,
        after=state,
        member=member,
        note=note[:200],
    )
    item.state = state
    item.save()


def at_hand(item: Item) -> str:
    """The state of an item that is not away: with its member, or in store."""
    return ItemState.ISSUED if out_with(item) is not None else ItemState.IN_STORE


def set_missing(*, actor: User, item: Item, note: str = "") -> Item:
    """Nobody knows where it is; if it was issued, it stays its member's until it is settled."""
    with recorded(actor, "move item"):
        item = locked(item)
        if item.state not in AT_HAND:
            raise Refused(f"{item} is {item.get_state_display()}.")
        issue = out_with(item)
        put(item, ItemState.MISSING, actor, member=issue.member if issue else None, note=note)
    return item


def found_again(*, actor: User, item: Item, note: str = "") -> Item:
    """A missing or retired item is there again."""
    with recorded(actor, "move item"):
        item = locked(item)
        if item.state not in (ItemState.MISSING, ItemState.RETIRED):
            raise Refused(f"{item} is {item.get_state_display()}.")
        issue = out_with(item)
        put(item, at_hand(item), actor, member=issue.member if issue else None, note=note)
    return item


def retire(*, actor: User, item: Item, note: str = "") -> Item:
    """It is used no more; its history stays."""
    with recorded(actor, "move item"):
        item = locked(item)
        issue = out_with(item)
        if issue is not None:
            raise Refused(f"{item} is with {issue.member}: take it back first.")
        if item.state not in (ItemState.IN_STORE, ItemState.MISSING):
            raise Refused(f"{item} is {item.get_state_display()}.")
        put(item, ItemState.RETIRED, actor, note=note)
    return item
