"""The marching record as a picture: a row a part, a dot a member."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from statistics import median

from django.urls import reverse
from django.utils.http import urlencode

from bandops.lib.charts import Chart, Dot, Line, Row, Scale, Strip, axis_of
from drill.record.core.record import RecordCounts
from roster.people.models import Member, Part

PERCENT = Scale(0, 100)
SMALLEST, LARGEST = 4.0, 10.0
"""radii in pixels of a dot for one member, and for ever so many"""


def record_chart(shares: Iterable[tuple[Member, RecordCounts]], parts: Mapping[int, Part]) -> Chart:
    """Of each member with a chance, the percent of them in which they marched, under the part
    they play most (member id -> part); members of one percent share a dot, which is larger."""
    found: dict[Part, list[int]] = defaultdict(list)
    for member, counts in shares:
        if counts.available and member.pk in parts:
            found[parts[member.pk]].append(counts.percent)
    ordered = sorted(found, key=lambda part: (part.instrument.order, part.order, part.pk))
    rows = tuple(_row(part, sorted(found[part])) for part in ordered)
    return Chart(
        "Chances marched, by part", rows, axis_of(PERCENT, "%"), head="Part", what="Marched"
    )


def _row(part: Part, percents: list[int]) -> Row:
    middle = median(percents)
    dots = tuple(
        Dot(PERCENT.at(percent), title=f"{n} at {percent}%", radius=_radius(n))
        for percent, n in sorted(Counter(percents).items())
    )
    low, high = percents[0], percents[-1]
    people = "1 member" if len(percents) == 1 else f"{len(percents)} members"
    query = urlencode({"part": f"{part.pk}", "sort": "percent"})
    url = f"{reverse('record')}?{query}#shares"
    words = people + (f", {low}%" if low == high else f", {low} to {high}%{_half(middle, high)}")
    return Row(str(part), Strip(dots=dots, lines=(Line(PERCENT.at(middle)),)), words, url)


def _half(middle: float, high: int) -> str:
    """Where the median stands."""
    return f", half of them {middle:g}%" + ("" if middle == high else " or more")


def _radius(members: int) -> float:
    """The area grows with the members."""
    return round(min(LARGEST, SMALLEST * math.sqrt(members)), 1)
