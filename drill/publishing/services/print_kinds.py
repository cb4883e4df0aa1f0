"""The prints of a revision; each room registers its own in ``prints.py``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bandops.lib.pdf.render import Made
from drill.lineup.models import Lineup


@dataclass(frozen=True)
class PrintKind:
    """A print that can be made of a revision.

    ``render`` takes the lineup, the paper, and ``changes`` where only what changed is wanted.
    Those that are ``standing`` are made at every publication and can be asked for again. Whoever
    reads lineups reads those that are ``for_all``, the others only staff.
    """

    name: str
    order: int
    render: Callable[[Lineup, str, str], Made]
    standing: bool = True
    for_all: bool = False


_kinds: dict[str, PrintKind] = {}


def add_print_kind(kind: PrintKind) -> None:
    """Make a kind known to publications and their pages."""
    _kinds[kind.name] = kind


def standing_prints() -> list[PrintKind]:
    """What is made at every publication, in order."""
    kinds = sorted(_kinds.values(), key=lambda kind: kind.order)
    return [kind for kind in kinds if kind.standing]


def is_for_all(filename: str) -> bool:
    """Whether a file is of a kind for all who read lineups; one of no known kind is not."""
    kind = _kinds.get(filename.partition(".")[0].partition("-")[0])
    return kind is not None and kind.for_all


def render_print(lineup: Lineup, name: str, paper: str, only: str) -> Made:
    """One print of a lineup; KeyError for a kind that no room registered."""
    return _kinds[name].render(lineup, paper, only)
