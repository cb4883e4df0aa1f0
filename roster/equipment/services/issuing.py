"""Handing items out and taking them back; what a device sends twice happens once."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Collection

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import moment_words
from bandops.lib.errors import Refused
from roster.equipment.enums import AT_WORK, ItemState
from roster.equipment.models import Issue, Item
from roster.equipment.services.moves import locked, out_with, put
from roster.people.enums import MemberStatus
from roster.people.models import Member


def hand_out(
    *,
    actor: User,
    item: Item,
    member: Member,
    condition: int,
    key: uuid.UUID | None = None,
    at: datetime.datetime | None = None,
    due: datetime.date | None = None,
    note: str = "",
) -> Issue:
    """The member has the item from now on, and its linked parts with it.

    Refused where it is somebody else's or not in store: two desks never hand out the same piece.
    """
    key = key or uuid.uuid4()
    with recorded(actor, "issue"):
        item = locked(item)
        done = Issue.objects.filter(key=key).select_related("member__person", "item").first()
        if done is not None:
            return done
        if item.part_of is not None:
            raise Refused(f"{item} is part of {item.part_of}: hand that out.")
        if member.status == MemberStatus.LEFT:
            raise Refused(f"{member} has left the band.")
        issue = _one(actor, item, member, condition, key, at or timezone.now(), due, note)
        for part in Item.objects.filter(part_of=item).exclude(state=ItemState.RETIRED):
            part = locked(part)
            own = uuid.uuid5(key, str(part.pk))
            _one(actor, part, member, part.condition, own, issue.issued_at, due, "")
    return issue


def _one(
    actor: User,
    item: Item,
    member: Member,
    condition: int,
    key: uuid.UUID,
    at: datetime.datetime,
    due: datetime.date | None,
    note: str,
) -> Issue:
    other = out_with(item)
    if other is not None:
        since = moment_words(other.issued_at)
        if other.member == member:
            raise Refused(f"{member} has {item} already, since {since}: nothing to do.")
        raise Refused(f"{item} is with {other.member}, since {since}.", ("Take it back first.",))
    if item.state != ItemState.IN_STORE:
        raise Refused(f"{item} is not in store: it is {item.get_state_display()}.")
    issue = Issue.objects.create(
        item=item,
        member=member,
        issued_at=at,
        issued_by=actor,
        condition_out=condition,
        due=due,
        note=note,
        key=key,
    )
    item.condition = condition
    put(item, ItemState.ISSUED, actor, member=member, at=at)
    return issue


def take_back(
    *,
    actor: User,
    item: Item,
    condition: int,
    key: uuid.UUID | None = None,
    at: datetime.datetime | None = None,
    without: Collection[int] = (),
    note: str = "",
) -> Issue:
    """The item is in store again; one that is away stays there, but is nobody's. ``without``:
    linked parts (ids) that did not come back, which stay the member's."""
    key = key or uuid.uuid4()
    with recorded(actor, "return"):
        item = locked(item)
        done = Issue.objects.filter(return_key=key).select_related("member__person").first()
        if done is not None:
            return done
        issue = out_with(item)
        if issue is None:
            raise Refused(f"Nobody has {item}: it is {item.get_state_display()}.")
        at = max(at or timezone.now(), issue.issued_at)
        _back(actor, item, issue, condition, key, at, note)
        for part in Item.objects.filter(part_of=item).exclude(pk__in=list(without)):
            part = locked(part)
            with_it = out_with(part)
            if with_it is not None and with_it.member_id == issue.member_id:
                own = uuid.uuid5(key, str(part.pk))
                _back(actor, part, with_it, part.condition, own, at, "")
    return issue


def _back(
    actor: User,
    item: Item,
    issue: Issue,
    condition: int,
    key: uuid.UUID,
    at: datetime.datetime,
    note: str,
) -> None:
    issue.returned_at, issue.returned_by, issue.condition_in = at, actor, condition
    issue.return_key = key
    issue.note = note or issue.note
    issue.save()
    item.condition = condition
    state = item.state if item.state in AT_WORK else ItemState.IN_STORE
    put(item, state, actor, member=issue.member, note=note, at=at)
