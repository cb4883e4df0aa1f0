"""Prints of the store: forms to sign, labels with codes, what is out."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

import segno

from bandops.lib.pdf.render import PAPERS, Made, render_pdf
from bandops.lib.pdf.stamps import moment_of
from roster.equipment import queries
from roster.equipment.models import Issue, Item
from roster.equipment.wording import dollars, size_of
from roster.people.models import Member, Season

ACROSS = 3
"""labels beside each other"""
Out = list[tuple[Issue, str, str]]
"""what somebody has: the issue, its size, and what it costs if it is lost"""


def _rows(issues: Iterable[Issue]) -> Out:
    return [(i, size_of(i.item), dollars(i.item.kind.cents)) for i in issues]


def render_issue_form(
    season: Season, members: Sequence[Member], *, now: datetime.datetime | None = None
) -> Made:
    """A page for each member: what they have, to be signed."""
    wanted = {m.person_id for m in members}
    has: dict[int, list[Issue]] = defaultdict(list)
    rows = queries.open_issues().filter(member__person__in=wanted)
    for issue in rows.order_by("item__kind__order", "item__tag_key"):
        has[issue.member.person_id].append(issue)
    title = f"Equipment issued, {season.band_name}"
    context = {"sheets": [(m, _rows(has[m.person_id])) for m in members], "season": season}
    return _made(season, "issue-forms", "Issue forms", title, "issue_form", context, now)


def render_labels(
    season: Season, items: Sequence[Item], address: str, *, now: datetime.datetime | None = None
) -> Made:
    """Labels to cut: tag, size and a code that opens the item's page. ``address`` ends where the
    tag goes."""
    labels = [
        (item, size_of(item), segno.make(f"{address}{item.tag_key}/", error="m").svg_data_uri())
        for item in items
    ]
    title = f"Labels, {season.band_name}"
    context = {"rows": [labels[n : n + ACROSS] for n in range(0, len(labels), ACROSS)]}
    return _made(season, "labels", "Labels", title, "labels", context, now)


def render_outstanding(
    season: Season,
    everybody: Sequence[tuple[Member, list[Issue]]],
    *,
    now: datetime.datetime | None = None,
) -> Made:
    """What is out, by member."""
    title = f"Outstanding, {season.band_name}"
    context = {"rows": [(member, _rows(issues)) for member, issues in everybody]}
    return _made(season, "outstanding", "Outstanding", title, "outstanding", context, now)


def _made(
    season: Season,
    name: str,
    called: str,
    title: str,
    template: str,
    context: dict[str, Any],
    now: datetime.datetime | None,
) -> Made:
    paper = season.paper
    stamp = {"stamp": title, "stamp_detail": f"made {moment_of(season.time_zone, now)}"}
    content = render_pdf(
        f"equipment/print/{template}.html",
        context | stamp,
        paper=paper,
        title=title,
        zone=season.zone,
    )
    return Made(f"{name}-{paper}", f"{called}, {PAPERS[paper]}", content)
