"""Print jobs of a published lineup."""

from __future__ import annotations

from bandops.lib.outbox.dispatch import add_job
from drill.lineup.models import Lineup
from drill.publishing.services.print_kinds import standing_prints


def add_print_jobs(lineup: Lineup, paper: str, only: str = "") -> None:
    """Jobs for the prints of every publication; ``only='changes'`` for changed pages."""
    for kind in standing_prints():
        add_print(lineup, kind.name, paper, only)


def add_print(lineup: Lineup, kind: str, paper: str, only: str = "") -> None:
    """Queue one print of a revision."""
    name = f"{kind}-{paper}" + (f"-{only}" if only else "")
    add_job(
        key=f"print:{lineup.code}:{name}",
        kind="publishing.print",
        group=group_of(lineup),
        payload={"lineup": lineup.pk, "print": kind, "paper": paper, "only": only},
    )


def group_of(lineup: Lineup) -> str:
    """The name that joins a revision's jobs and files."""
    return f"lineup:{lineup.pk}"
