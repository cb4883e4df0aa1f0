"""Who is writing: every service opens its transaction with ``recorded``."""

from __future__ import annotations

import logging
import uuid
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from contextvars import ContextVar
from dataclasses import asdict, dataclass, replace

from django.conf import settings
from django.db import connection, transaction
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry

log = logging.getLogger("bandops.security")


@dataclass(frozen=True)
class Writing:
    """The action under way; the triggers read it."""

    actor_id: str = ""
    actor_label: str = ""
    action: str = ""
    batch: str = ""
    unlocked: str = ""


@dataclass(frozen=True)
class Finished:
    """An action that was done; ``left`` where something of it left the site or its page: a job
    that mails, prints or computes."""

    batch: str
    actor_id: str
    left: bool


LONGEST_LABEL = 254
LOOK = "look at "
NOBODY = Writing()
_writing: ContextVar[Writing] = ContextVar("writing", default=NOBODY)
_finished: ContextVar[list[Finished] | None] = ContextVar("finished", default=None)
_left: ContextVar[set[str] | None] = ContextVar("left", default=None)
Guard = Callable[[Writing], AbstractContextManager[None]]
"""what stands around an action, within its transaction: it may refuse it"""
_guard: ContextVar[Guard] = ContextVar("guard", default=lambda writing: nullcontext())


@contextmanager
def noting_actions() -> Iterator[None]:
    """Keeps the actions that are done inside, for whoever answers the request."""
    tokens = (_finished.set([]), _left.set(set()))
    try:
        yield
    finally:
        _finished.reset(tokens[0])
        _left.reset(tokens[1])


@contextmanager
def guarded(guard: Guard) -> Iterator[None]:
    """Puts a guard around each action that is done inside."""
    token = _guard.set(guard)
    try:
        yield
    finally:
        _guard.reset(token)


def finished() -> tuple[Finished, ...]:
    """The actions done since ``noting_actions`` began."""
    return tuple(_finished.get() or ())


def something_leaves() -> None:
    """The action under way sends or starts something that no taking back reaches."""
    left = _left.get()
    if left is not None:
        left.add(current().batch)


def current() -> Writing:
    """The action under way in this thread."""
    return _writing.get()


@contextmanager
def recorded(actor: User | None, action: str) -> Iterator[str]:
    """One transaction whose every row change is signed; yields the batch that joins them.

    Inside another ``recorded`` it is part of that action.
    """
    outer = current()
    if outer.batch:
        with transaction.atomic():
            yield outer.batch
        return
    writing = Writing(str(actor.pk) if actor else "", _label(actor), action, str(uuid.uuid4()))
    with _as(writing), _guard.get()(writing):
        yield writing.batch
    if (done := _finished.get()) is not None:
        left = writing.batch in (_left.get() or ())
        done.append(Finished(writing.batch, writing.actor_id, left))
    # In a transaction of the caller's own, what follows is no part of this action.
    _tell_database(outer)


def _label(actor: User | None) -> str:
    return actor.signature[:LONGEST_LABEL] if actor else "the system"


@contextmanager
def unlocked() -> Iterator[None]:
    """Lets the audit's own rows be altered: for erasing a person, and for emptying test data."""
    outer = current()
    writing = replace(outer, unlocked="1")
    if connection.in_atomic_block:
        with _as(writing):
            yield
        _tell_database(outer)
        return
    # Without a transaction PostgreSQL would forget a setting of the transaction at once.
    token = _writing.set(writing)
    _tell_database(writing, lasting=True)
    try:
        yield
    finally:
        _writing.reset(token)
        _tell_database(outer, lasting=True)


@contextmanager
def _as(writing: Writing) -> Iterator[None]:
    token = _writing.set(writing)
    try:
        with transaction.atomic():
            _tell_database(writing)
            yield
    finally:
        _writing.reset(token)


def _tell_database(writing: Writing, *, lasting: bool = False) -> None:
    """PostgreSQL's triggers read settings of the transaction; SQLite's call back to ``current``."""
    if connection.vendor != "postgresql" or not (connection.in_atomic_block or lasting):
        return
    with connection.cursor() as cursor:
        for name, value in asdict(writing).items():
            cursor.execute("SELECT set_config(%s, %s, %s)", [f"bandops.{name}", value, not lasting])


def record_view(actor: User | None, table: str, row_id: object, what: str) -> None:
    """Note that private fields of a row were looked at; without an actor, on the server. Of a
    backup that takes nothing in, in the log."""
    if settings.READ_ONLY:
        log.warning("backup: %s looked at %s of %s %s", actor and actor.pk, what, table, row_id)
        return
    AuditEntry.objects.create(
        at=timezone.now(),
        actor_id=actor.pk if actor else None,
        actor_label=_label(actor),
        action=f"{LOOK}{what}",
        table=table,
        row_id=str(row_id),
        op=AuditEntry.Op.VIEW,
    )
