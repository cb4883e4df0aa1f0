"""What later rooms know that tryouts ask for."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from bandops.lib.accounts.models import User
from bandops.lib.ties import Tie
from roster.people.models import Season

SEATED: Tie[[User, Season, datetime.date, Mapping[int, frozenset[str]]], None] = Tie()
"""the selected became members on a day: member (id) -> codes of the fundamentals they passed"""
FUNDAMENTALS: Tie[[Season], dict[str, str]] = Tie()
"""code -> name of the fundamentals that a criterion can be about"""
