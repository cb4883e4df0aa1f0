"""What later rooms know of members that a lineup heeds."""

from __future__ import annotations

import datetime

from bandops.lib.ties import Tie
from roster.people.models import Season

SHARES: Tie[[Season, datetime.date], dict[int, int]] = Tie()
"""member id -> percent of their chances before a day in which they marched"""
