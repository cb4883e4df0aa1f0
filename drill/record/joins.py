"""What the record adds to lineups: the share that fairness reads."""

from __future__ import annotations

from drill.lineup.ties import SHARES
from drill.record import queries

SHARES.join(queries.marched_percents)
