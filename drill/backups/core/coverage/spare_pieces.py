"""Who needs a spare piece in a lineup as given, and whether those there are bear a change."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from drill.backups.core.coverage.ground import NOBODY, Ground
from drill.lineup.core.dressing import contested, dress, sizes_of
from drill.lineup.core.problem import Lack
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver.index import Ints

Step = tuple[int, int]
"""a member (by number) and the seat they step into"""


@dataclass(frozen=True)
class SparePieces:
    """What the lineup's members need of the spare pieces. Who drops out misses the whole event:
    a piece is theirs in all segments."""

    ground: Ground

    @cached_property
    def _facts(self) -> Facts:
        return Facts(self.ground.problem)

    def _lacking(self, member: int, seat: int) -> tuple[Lack, ...]:
        problem, (segment, spot) = self.ground.problem, self.ground.arcs.seats[seat]
        return self._facts.lacking(problem.members[member], segment, self._facts.spots[spot])

    @cached_property
    def _lackers(self) -> Ints:
        """Members who lack something."""
        members = self.ground.problem.members
        return np.array([n for n, m in enumerate(members) if m.lacks], np.int64)

    @cached_property
    def _needs(self) -> dict[tuple[int, str], Lack]:
        """(member, kind) -> what they need anywhere they may march."""
        ground = self.ground
        theirs = np.flatnonzero(np.isin(ground.member, self._lackers))
        pairs = zip(ground.member[theirs].tolist(), ground.seat[theirs].tolist(), strict=True)
        return {
            (member, lack.kind): lack
            for member, seat in pairs
            for lack in self._lacking(member, seat)
        }

    @cached_property
    def contested(self) -> frozenset[int]:
        """Members of whom some could be too many."""
        found: set[int] = set()
        for kind in sorted({kind for _, kind in self._needs}):
            fits = {m: lack.fits for (m, k), lack in sorted(self._needs.items()) if k == kind}
            found |= set(contested(fits, sizes_of(self._facts, kind)))
        return frozenset(found)

    @cached_property
    def seats(self) -> Ints:
        """Seats that one of them may march."""
        if not self.contested:
            return np.zeros(0, np.int64)
        found: Ints = np.unique(self.ground.seat[np.isin(self.ground.member, list(self.contested))])
        return found

    def bears(self, out: int, chains: Iterable[Sequence[Step]]) -> bool:
        """Whether all are dressed when a member drops out and the chains, one a segment at most,
        are followed."""
        if not self.contested:
            return True
        stands = {
            s: m for s, m in enumerate(self.ground.occupant.tolist()) if m not in (NOBODY, out)
        }
        for chain in chains:
            for member, seat in chain:
                segment = self.ground.arcs.seat_segment[seat]
                here = self.ground.seats_of(int(segment)).tolist()
                stands = {s: m for s, m in stands.items() if m != member or s not in here}
            stands |= {seat: member for member, seat in chain}
        needs: dict[str, dict[int, tuple[str, ...]]] = {}
        for seat, member in sorted(stands.items()):
            if member in self.contested:
                for lack in self._lacking(member, seat):
                    needs.setdefault(lack.kind, {})[member] = lack.fits
        return not any(dress(fits, sizes_of(self._facts, k))[1] for k, fits in needs.items())
