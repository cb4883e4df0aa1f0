"""Prints of tryouts: mark sheets for paper, the timetable."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from bandops.lib.pdf.render import PAPERS, Made, render_pdf
from bandops.lib.pdf.stamps import moment_of
from roster.tryouts import queries
from roster.tryouts.models import Decision, Panelist, Tryout, TryoutGroup, TryoutSession
from roster.tryouts.services.appeals import AppealFile
from roster.tryouts.services.results import PartList


@dataclass(frozen=True)
class PaperSheet:
    """One evaluator's sheet of one group: numbers in the order they are seen."""

    panelist: Panelist
    group: TryoutGroup
    rows: tuple[tuple[str, str], ...]
    """(number, part)"""


def paper_sheets(tryout: Tryout, session: TryoutSession | None = None) -> list[PaperSheet]:
    """Sheets of a session, or of all, by evaluator, then in the order of the timetable."""
    rows = queries.groups(tryout).prefetch_related(
        "panel__panelist__user", "places__candidate__wishes__part"
    )
    if session is not None:
        rows = rows.filter(session=session)
    found = [
        PaperSheet(
            member.panelist,
            group,
            tuple(
                (place.candidate.called, str(min(wishes, key=lambda w: w.order).part))
                for place in group.places.all()
                if (wishes := list(place.candidate.wishes.all()))
            ),
        )
        for group in rows
        for member in group.panel.all()
    ]
    return sorted(found, key=lambda s: s.panelist.code)


def render_mark_sheets(
    tryout: Tryout,
    *,
    paper: str,
    session: TryoutSession | None = None,
    now: datetime.datetime | None = None,
) -> Made:
    """A page for each evaluator and group: numbers, criteria, room for marks; no names."""
    title = f"Mark sheets: {tryout}, {tryout.season.band_name}"
    context = {
        "tryout": tryout,
        "sheets": paper_sheets(tryout, session),
        "criteria": queries.criteria(tryout),
        "stamp": title,
        "stamp_detail": f"made {moment_of(tryout.season.time_zone, now)} · for evaluators",
    }
    content = render_pdf(
        "tryouts/print/mark_sheets.html", context, paper=paper, title=title, zone=tryout.zone
    )
    of = f"-{session.pk}" if session is not None else ""
    return Made(f"mark-sheets{of}-{paper}", f"Mark sheets, {PAPERS[paper]}", content)


def render_timetable(tryout: Tryout, *, paper: str, now: datetime.datetime | None = None) -> Made:
    """Sessions with their groups, numbers and evaluators."""
    title = f"Timetable: {tryout}, {tryout.season.band_name}"
    rows = queries.groups(tryout).prefetch_related("panel__panelist", "places__candidate")
    sessions = [
        (session, [group for group in rows if group.session_id == session.pk])
        for session in queries.sessions(tryout)
    ]
    context = {
        "tryout": tryout,
        "sessions": sessions,
        "stamp": title,
        "stamp_detail": f"made {moment_of(tryout.season.time_zone, now)}",
    }
    content = render_pdf(
        "tryouts/print/timetable.html", context, paper=paper, title=title, zone=tryout.zone
    )
    return Made(f"tryout-timetable-{paper}", f"Timetable, {PAPERS[paper]}", content)


def render_results(
    tryout: Tryout,
    parts: list[PartList],
    decision: Decision,
    *,
    paper: str,
    now: datetime.datetime | None = None,
) -> Made:
    """The public list: the selected by name, as on the page."""
    title = f"Results of {tryout}, {tryout.season.band_name}"
    made = moment_of(tryout.season.time_zone, now)
    context = {
        "tryout": tryout,
        "parts": parts,
        "stamp": title,
        "stamp_detail": f"version {decision.version} · made {made}",
    }
    content = render_pdf(
        "tryouts/print/results.html", context, paper=paper, title=title, zone=tryout.zone
    )
    return Made(f"tryout-results-{paper}", f"Results, {PAPERS[paper]}", content)


def render_appeal(file: AppealFile, *, paper: str, now: datetime.datetime | None = None) -> Made:
    """One candidate's own marks and figures."""
    tryout = file.decision.tryout
    title = f"Tryout marks of {file.candidate}"
    context = {
        "file": file,
        "tryout": tryout,
        "stamp": f"{title}, {tryout.season.band_name}",
        "stamp_detail": f"private · made {moment_of(tryout.season.time_zone, now)}",
    }
    content = render_pdf(
        "tryouts/print/appeal.html", context, paper=paper, title=title, zone=tryout.zone
    )
    return Made(f"tryout-marks-{file.candidate.pk}-{paper}", title, content)
