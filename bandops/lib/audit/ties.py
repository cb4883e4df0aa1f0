"""What rooms say of actions: whose are shown, which stay, which are the director's by now."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import Model

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.ties import Tie

STAFF_OF: Tie[[Any], list[int]] = Tie()
"""ids of the accounts that are staff of the viewer's season"""
KEPT_BATCHES: Tie[[Iterable[str]], set[str]] = Tie()
"""those of the batches that are not taken back in the history"""
REMARKS: Tie[[Iterable[str]], dict[str, str]] = Tie()
"""what the history says beside some of the batches: the reason that was given"""
LOCKED_BATCHES: Tie[[Any, Iterable[str]], set[str]] = Tie()
"""those of the batches that the viewer may not take back any more"""
REVERSED: Tie[[User, list[AuditEntry]], None] = Tie()
"""rows went back to what they were before these entries"""
ROWS_ABOUT: Tie[[Any, str], list[Model]] = Tie()
"""the rows of whom a text names, among the people of the viewer's season"""
