"""Attendance as a picture."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from django.urls import reverse

from bandops.lib.charts import Chart, Key, Row, Scale, Strip, stacked
from drill.events.models import Event
from drill.rehearsals.services.attendance import RankAttendance

LOOKS = {
    "present": ("one", "here"),
    "late": ("two", "late"),
    "left": ("four", "left early"),
    "absent": ("three", "not here"),
    "differs": ("differs", "notes differ"),
    "unavailable": ("rest", "unavailable"),
    "open": ("safe", "not marked"),
}
"""count -> its look and its word, in the order of the bar"""


def attendance_chart(event: Event, ranks: Iterable[RankAttendance]) -> Chart:
    """A bar a rank, all to one scale; words name what is not nothing."""
    shown = list(ranks)
    scale = Scale(0, max([len(rank.lines) for rank in shown], default=1))
    totals: Counter[str] = sum((rank.counts for rank in shown), Counter())
    rows = tuple(
        Row(
            str(rank.rank),
            Strip(stacked(scale, [rank.counts[c] for c in LOOKS], [k for k, _ in LOOKS.values()])),
            _words(rank.counts),
            f"{reverse('attendance', args=[event.pk])}?rank={rank.rank.pk}",
        )
        for rank in shown
    )
    keys = tuple(Key(kind, f"{totals[c]} {word}") for c, (kind, word) in LOOKS.items() if totals[c])
    return Chart("By rank", rows, keys=keys, head="Rank", what="Who is here")


def _words(counts: Counter[str]) -> str:
    """'14 here, 1 late'."""
    return ", ".join(f"{counts[c]} {word}" for c, (_, word) in LOOKS.items() if counts[c])
