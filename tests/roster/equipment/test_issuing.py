"""Handing out and taking back: one member at a time, once, and never lost."""

from __future__ import annotations

import contextlib
import threading
import uuid
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.undo import take_back as undo
from bandops.lib.errors import Refused
from roster.equipment.enums import ItemState
from roster.equipment.models import Issue, Item, Move, Ticket
from roster.equipment.services import issuing, moves, work
from roster.people.models import Member
from tests.examples import examples
from tests.factories import Band, Cast
from tests.factories.store import Store, accounted

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("partial unique indexes and row locks"),
]


def give(store: Store, tag: str, member: Member, **more: Any) -> Issue:
    return issuing.hand_out(
        actor=store.actor, item=store.items[tag], member=member, condition=1, **more
    )


def back(store: Store, tag: str, **more: Any) -> Issue:
    return issuing.take_back(actor=store.actor, item=store.items[tag], condition=2, **more)


def state(tag: str) -> str:
    return Item.objects.get(tag=tag).state


def test_out_and_back_with_condition_and_history(band: Band, store: Store) -> None:
    cai = band.members["Cai Ørnberg"]
    issue = give(store, "J-1", cai)
    assert state("J-1") == ItemState.ISSUED and issue.condition_out == 1
    returned = back(store, "J-1", note="Button missing")
    assert returned.pk == issue.pk and returned.condition_in == 2
    assert state("J-1") == ItemState.IN_STORE
    assert Item.objects.get(tag="J-1").condition == 2
    after = [(m.before, m.after, m.member) for m in Move.objects.filter(item__tag="J-1")]
    assert after == [("issued", "in store", cai), ("in store", "issued", cai)]


def test_two_desks_never_hand_out_the_same_piece(band: Band, store: Store) -> None:
    give(store, "J-1", band.members["Cai Ørnberg"])
    with pytest.raises(Refused, match="J-1 is with Cai Ørnberg"):
        give(store, "J-1", band.members["Hal Brook"])
    with pytest.raises(Refused, match="nothing to do"):
        give(store, "J-1", band.members["Cai Ørnberg"])
    with pytest.raises(IntegrityError), transaction.atomic():
        Issue.objects.create(
            item=store.items["J-1"],
            member=band.members["Hal Brook"],
            issued_at=Issue.objects.get().issued_at,
            condition_out=1,
        )


def test_what_a_device_sends_twice_happens_once(band: Band, store: Store) -> None:
    key, other = uuid.uuid4(), uuid.uuid4()
    first = give(store, "J-1", band.members["Cai Ørnberg"], key=key)
    assert give(store, "J-1", band.members["Cai Ørnberg"], key=key).pk == first.pk
    back(store, "J-1", key=other)
    give(store, "J-1", band.members["Hal Brook"])
    assert back(store, "J-1", key=other).pk == first.pk
    assert state("J-1") == ItemState.ISSUED, "the second sending took nothing back"


def test_linked_parts_go_and_come_with_it(band: Band, store: Store) -> None:
    hal = band.members["Hal Brook"]
    with pytest.raises(Refused, match="part of SO-1"):
        give(store, "SB-1", hal)
    give(store, "SO-1", hal)
    assert state("SB-1") == ItemState.ISSUED
    back(store, "SO-1", without=[store.items["SB-1"].pk])
    assert (state("SO-1"), state("SB-1")) == (ItemState.IN_STORE, ItemState.ISSUED)
    assert back(store, "SB-1").member == hal


def test_what_is_at_work_or_gone_is_not_handed_out(band: Band, store: Store) -> None:
    cai = band.members["Cai Ørnberg"]
    work.open_ticket(actor=store.actor, item=store.items["J-1"], work="repair")
    with pytest.raises(Refused, match="not in store: it is repair"):
        give(store, "J-1", cai)
    moves.set_missing(actor=store.actor, item=store.items["J-2"])
    with pytest.raises(Refused, match="missing"):
        give(store, "J-2", cai)
    with pytest.raises(Refused, match="Nobody has J-3"):
        back(store, "J-3")
    Member.objects.filter(pk=cai.pk).update(status="left")
    cai.refresh_from_db()
    with pytest.raises(Refused, match="has left"):
        give(store, "J-3", cai)


def test_what_somebody_has_is_not_retired(band: Band, store: Store) -> None:
    give(store, "J-1", band.members["Cai Ørnberg"])
    with pytest.raises(Refused, match="take it back first"):
        moves.retire(actor=store.actor, item=store.items["J-1"])
    back(store, "J-1")
    moves.retire(actor=store.actor, item=store.items["J-1"])
    moves.found_again(actor=store.actor, item=store.items["J-1"])
    assert state("J-1") == ItemState.IN_STORE


def test_a_missing_piece_stays_its_members_and_is_found_with_them(band: Band, store: Store) -> None:
    give(store, "J-1", band.members["Cai Ørnberg"])
    moves.set_missing(actor=store.actor, item=store.items["J-1"])
    assert Issue.objects.filter(returned_at__isnull=True).count() == 1
    moves.found_again(actor=store.actor, item=store.items["J-1"])
    assert state("J-1") == ItemState.ISSUED


STEPS = ("out", "other", "back", "repair", "done", "missing", "found", "retire", "undo")


def _act(store: Store, members: list[Member], step: str, tag: str) -> None:
    item, actor = Item.objects.get(tag=tag), store.actor
    if step in ("out", "other"):
        member = members[step == "other"]
        issuing.hand_out(actor=actor, item=item, member=member, condition=1)
    elif step == "back":
        issuing.take_back(actor=actor, item=item, condition=1)
    elif step == "repair":
        work.open_ticket(actor=actor, item=item, work="repair")
    elif step == "done":
        ticket = Ticket.objects.filter(item=item, closed_at__isnull=True).first()
        if ticket is not None:
            work.close_ticket(actor=actor, ticket=ticket)
    elif step == "missing":
        moves.set_missing(actor=actor, item=item)
    elif step == "found":
        moves.found_again(actor=actor, item=item)
    elif step == "retire":
        moves.retire(actor=actor, item=item)
    else:
        newest = AuditEntry.objects.exclude(batch="").order_by("-pk").first()
        if newest is not None:
            undo(actor=actor, batch=newest.batch)


@examples(40, long=1500, suppress_health_check=list(HealthCheck))
@given(st.lists(st.tuples(st.sampled_from(STEPS), st.sampled_from(("J-1", "SO-1"))), max_size=14))
def test_no_sequence_leaves_an_item_with_two_people_or_unaccounted_for(
    kept_band: Band, store: Store, steps: list[tuple[str, str]]
) -> None:
    members = [kept_band.members["Cai Ørnberg"], kept_band.members["Hal Brook"]]
    with transaction.atomic():
        for step, tag in steps:
            with contextlib.suppress(Refused), transaction.atomic():
                _act(store, members, step, tag)
            for item in Item.objects.all():
                assert accounted(item), (step, tag, item, item.state)
                opened = Ticket.objects.filter(item=item, closed_at__isnull=True).count()
                assert opened == (item.state in ("repair", "altering", "cleaning"))
        transaction.set_rollback(True)


@pytest.mark.django_db(transaction=True)
def test_two_desks_at_the_same_moment(band: Band, store: Store, cast: Cast) -> None:
    """Both ask for the same jacket at once: one gets it, the other hears who has it."""
    both, told = threading.Barrier(2), []

    def desk(name: str) -> None:
        try:
            both.wait(timeout=5)
            issue = issuing.hand_out(
                actor=cast.equipment,
                item=Item.objects.get(tag="J-1"),
                member=band.members[name],
                condition=1,
            )
            told.append(str(issue.member))
        except Refused as error:
            told.append(error.message)
        finally:
            connection.close()

    desks = [threading.Thread(target=desk, args=(n,)) for n in ("Cai Ørnberg", "Hal Brook")]
    for one in desks:
        one.start()
    for one in desks:
        one.join(timeout=30)
    (issue,) = Issue.objects.all()
    assert str(issue.member) in told and len(told) == 2
    assert any(f"J-1 is with {issue.member}" in text for text in told)
