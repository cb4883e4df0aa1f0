"""One seat of the lineup on the page: who could march it, and what each button would do."""

from __future__ import annotations

from dataclasses import dataclass

from drill.lineup.core.candidates import Candidate, candidates
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import Built
from drill.lineup.services.proposals import placements_of
from drill.lineup.services.settling import settle


@dataclass(frozen=True)
class Panel:
    """``candidates`` nearest first, then who cannot and why; ``emptied`` are other seats that any
    edit by hand empties, since their members can no longer march them."""

    candidates: tuple[Candidate, ...]
    emptied: tuple[Seat, ...]


def panel(built: Built, lineup: Lineup, seat: Seat) -> Panel:
    """The seat in the draft, or in the revision where there is no draft. Nobody takes a seat of
    what is over."""
    if seat[0] in built.over:
        return Panel((), ())
    settled, emptied = settle(built, placements_of(lineup))
    found = candidates(built.to_come, seats_of(settled), seat)
    return Panel(found, tuple(s for s in emptied if s != seat))
