"""Evaluation sequences: made from a seed, kept as they were made."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.fundamentals.core import Fundamental
from drill.fundamentals.core import sequences as core
from drill.fundamentals.models import MOST_COUNTS, SQUARES, EvaluationSequence
from drill.fundamentals.services.fundamentals import fundamentals_of
from roster.people.models import Season

MOST_GROUPS = 12
"""smallest and largest side of a square, steps"""


def choices(season: Season) -> list[Fundamental]:
    """What a sequence may be made of: all but what only a picture says where it ends."""
    return [it for it in fundamentals_of(season).values() if not it.drawn]


def make_sequence(
    *,
    actor: User,
    season: Season,
    label: str,
    codes: Sequence[str],
    counts: int,
    square: int,
    groups: int,
    seed: int,
) -> EvaluationSequence:
    """Make and keep a sequence for each group; the same numbers make the same sequences."""
    known = fundamentals_of(season)
    may = {it.code: it for it in choices(season)}
    chosen = [may[code] for code in dict.fromkeys(codes) if code in may]
    _refuse_sizes(counts, square, groups)
    label = label.strip()
    if not label:
        raise Refused("Give it a name.")
    try:
        made = core.make_sequences(
            chosen, known, counts=counts, square=square, groups=groups, seed=seed
        )
    except core.NoSequence as error:
        raise Refused(_why(error)) from error
    with recorded(actor, "make evaluation sequence"):
        Season.objects.select_for_update().get(pk=season.pk)
        if EvaluationSequence.objects.filter(season=season, label=label).exists():
            raise Refused(f"There is already a sequence “{label}”.")
        return EvaluationSequence.objects.create(
            season=season,
            label=label,
            seed=seed,
            counts=counts,
            square=square,
            codes=[it.code for it in chosen],
            moves=[[list(block) for block in one.blocks] for one in made],
            made_by=actor,
        )


def _refuse_sizes(counts: int, square: int, groups: int) -> None:
    if not 0 < counts <= MOST_COUNTS or not 0 < groups <= MOST_GROUPS:
        raise Refused(f"At most {MOST_COUNTS} counts and {MOST_GROUPS} groups, at least one.")
    if not SQUARES[0] <= square <= SQUARES[1]:
        raise Refused(f"The square is {SQUARES[0]} to {SQUARES[1]} steps wide.")


def _why(error: core.NoSequence) -> str:
    return {
        core.Lack.NONE_CHOSEN: "Choose at least one fundamental.",
        core.Lack.ODD: "Use an even number of counts, so it ends on the right foot.",
        core.Lack.TOO_SHORT: f"The chosen fundamentals need at least {error.needs} counts.",
        core.Lack.NOT_FOUND: (
            "No sequence comes back to the spot. Choose more "
            "fundamentals (a turn, something to each side), a larger square or more counts."
        ),
    }[error.lack]


def groups_of(row: EvaluationSequence) -> tuple[core.EvaluationSequence, ...]:
    """Each group's sequence as it comes out with today's fundamentals.

    Refused where a fundamental of it is gone.
    """
    known = fundamentals_of(row.season)
    try:
        return tuple(
            core.sequence_of([(code, counts) for code, counts in blocks], known)
            for blocks in row.moves
        )
    except KeyError as error:
        raise Refused(f"The fundamental {error} of “{row}” is gone.") from error


def remove_sequence(*, actor: User, row: EvaluationSequence) -> None:
    """Remove a sequence that nobody needs any more."""
    with recorded(actor, "remove evaluation sequence"):
        row.delete()
