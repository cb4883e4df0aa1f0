"""One member at a time: the piece to take now, and the moves that free one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from roster.equipment.core.fitting import Fit, Fitting, FittingProblem, fit_of, who_fits


@dataclass(frozen=True, slots=True)
class Move:
    """A member changes to another piece (``source`` is None for who has none yet)."""

    wearer: str
    source: str | None
    piece: str


def moves_for(
    problem: FittingProblem, given: Mapping[str, str], wearer: str
) -> tuple[Move, ...] | None:
    """The fewest moves after which the member is dressed too, in the order they are made; None
    where there are none. ``given``: member -> piece, of members of the problem."""
    holder = {piece: who for who, piece in given.items()}
    fits = who_fits(problem)
    came: dict[str, tuple[str, str]] = {}
    queue, seen = [wearer], {wearer}
    while queue:
        after: list[str] = []
        for who in sorted(queue):
            for piece in sorted(fits[who]):
                owner = holder.get(piece)
                if owner is None:
                    return _way(came, given, who, piece)
                if owner not in seen:
                    seen.add(owner)
                    came[owner] = (who, piece)
                    after.append(owner)
        queue = after
    return None


def _way(
    came: Mapping[str, tuple[str, str]], given: Mapping[str, str], who: str, piece: str
) -> tuple[Move, ...]:
    moves = [Move(who, given.get(who), piece)]
    while who in came:
        who, piece = came[who]
        moves.append(Move(who, given.get(who), piece))
    return tuple(moves)


@dataclass(frozen=True, slots=True)
class Choice:
    """A piece somebody could take; ``costs_another``: then one fewer of the others is fitted."""

    piece: str
    fit: Fit
    costs_another: bool


def choices(problem: FittingProblem, fitting: Fitting, wearer: str) -> tuple[Choice, ...]:
    """All pieces the member could wear, the fitting's own first, then those that leave everybody
    else as many, by cost and closeness."""
    of = problem.of_wearer[wearer]
    own = fitting.by_wearer.get(wearer)
    harmless = _harmless(problem, fitting, wearer)
    found = []
    for piece in problem.pieces:
        fit = fit_of(problem, of, piece)
        if fit is not None:
            found.append(Choice(piece.key, fit, piece.key not in harmless))

    def order(choice: Choice) -> tuple[object, ...]:
        worn = problem.of_piece[choice.piece].wear
        other = bool(of.had) and choice.piece not in of.had
        ranks = (choice.costs_another, other, choice.fit.cost, choice.fit.off, worn)
        return (choice.piece != own, *ranks, choice.piece)

    return tuple(sorted(found, key=order))


def _harmless(problem: FittingProblem, fitting: Fitting, wearer: str) -> set[str]:
    """Pieces that the member may take while as many of the others are fitted: free ones, and
    those whose owners can move on, in the end to a free piece or to the member's own."""
    fits = who_fits(problem)
    holder = {p: w for w, p in fitting.by_wearer.items() if w != wearer}
    found = {p.key for p in problem.pieces} - holder.keys()
    able: dict[str, list[str]] = defaultdict(list)
    for who, pieces in fits.items():
        for piece in pieces:
            able[piece].append(who)
    queue = list(found)
    while queue:
        for who in able[queue.pop()]:
            freed = fitting.by_wearer.get(who)
            if who != wearer and freed is not None and freed not in found:
                found.add(freed)
                queue.append(freed)
    return found
