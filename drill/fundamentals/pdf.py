"""Prints of fundamentals: the study sheet for candidates, and sequences for evaluators."""

from __future__ import annotations

import datetime

from bandops.lib.pdf.render import PAPERS, Made, render_pdf
from bandops.lib.pdf.stamps import moment_of
from drill.fundamentals.models import EvaluationSequence
from drill.fundamentals.services.studying import Group, Study, groups_shown, studies
from roster.people.models import Season


def render_study_sheet(
    season: Season, codes: list[str], *, paper: str, now: datetime.datetime | None = None
) -> Made:
    """Footprints of the chosen fundamentals, count by count."""
    found: list[Study] = studies(season, codes)
    title = f"Study sheet: fundamentals, {season.band_name}"
    context = {
        "season": season,
        "studies": found,
        "stamp": title,
        "stamp_detail": f"made {moment_of(season.time_zone, now)}",
    }
    content = render_pdf(
        "fundamentals/print/study.html", context, paper=paper, title=title, zone=season.zone
    )
    return Made(f"study-sheet-{paper}", f"Study sheet, {PAPERS[paper]}", content)


def render_sequence(
    row: EvaluationSequence, *, paper: str, now: datetime.datetime | None = None
) -> Made:
    """A page a group: the way, the counts, lines for marks; no candidate's name or number."""
    groups: list[Group] = groups_shown(row)
    title = f"Evaluation sequence {row.label}"
    made = moment_of(row.season.time_zone, now)
    context = {
        "sequence": row,
        "groups": groups,
        "lines": range(1, 11),
        "stamp": f"{title}, {row.season.band_name}",
        "stamp_detail": f"seed {row.seed} · made {made} · for evaluators",
    }
    content = render_pdf(
        "fundamentals/print/sequence.html", context, paper=paper, title=title, zone=row.season.zone
    )
    return Made(f"sequence-{row.pk}-{paper}", f"{title}, {PAPERS[paper]}", content)
