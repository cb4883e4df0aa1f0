"""What is read is kept in this process while nothing is written.

Every write to a table of ours leaves an entry in the audit, whoever made it, so the newest entries
tell whether anything has changed since something was read. What depends on the clock has to be in
the key. Only pages that show something read this way; whatever writes reads anew.
"""

from __future__ import annotations

import datetime
from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, TypeVar

from django.db import connection

from bandops.lib.audit.models import AuditEntry

T = TypeVar("T")
Stamp = tuple[int, datetime.datetime, int]

MOST_KEPT = 24
LATE_COMMITS = 1000
"""so many numbers back an entry may still appear: its transaction began earlier and ended later"""

_kept: OrderedDict[Hashable, tuple[Stamp, Any]] = OrderedDict()
_lock = Lock()


def stamp(besides: tuple[str, ...] = ()) -> Stamp | None:
    """The newest entry and how many there are a little way back, those about some tables left
    out; None where nothing may be kept: within a transaction, whose entries may yet be undone,
    and before there are any."""
    if connection.in_atomic_block:
        return None
    entries = AuditEntry.objects.exclude(table__in=besides) if besides else AuditEntry.objects
    newest = entries.values_list("pk", "at").first()
    if newest is None:
        return None
    near = entries.filter(pk__gt=newest[0] - LATE_COMMITS).count()
    return (*newest, near)


def while_unchanged(key: Hashable, read: Callable[[], T], besides: tuple[str, ...] = ()) -> T:
    """What was read under this key if nothing was written since, else what ``read`` gives now.
    ``besides`` names tables that it does not depend on.

    The same object is given to every reader: nobody may change it.
    """
    now = stamp(besides)
    if now is None:
        return read()
    with _lock:
        found = _kept.get(key)
        if found is not None and found[0] == now:
            _kept.move_to_end(key)
            kept: T = found[1]
            return kept
    made = read()
    if stamp(besides) == now:
        with _lock:
            _kept[key] = (now, made)
            while len(_kept) > MOST_KEPT:
                _kept.popitem(last=False)
    return made
