"""The chance that somebody not reported is out of an event: a figure given by hand, else the
band's record, else the plain one."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from drill.backups.core.chances import History

PLAIN = 0.05
"""before there is a record: common practice, no source"""
LEAST, MOST = 0.01, 0.5
"""no record makes an absence impossible, or likelier than not"""


@dataclass(frozen=True)
class UsualChance:
    """``performances`` that are over, how often members could have come to them (``occasions``),
    and how often they did not; ``given`` is the figure that goes before the record."""

    given: float | None = None
    performances: int = 0
    occasions: int = 0
    missed: float = 0.0

    @property
    def value(self) -> float:
        if self.given is not None:
            return self.given
        if not self.occasions:
            return PLAIN
        return min(max(self.missed / self.occasions, LEAST), MOST)


def usual(given: float | None, performances: int, histories: Collection[History]) -> UsualChance:
    """The chance from how many performances are over and what each member did there."""
    occasions = sum(h.occasions for h in histories)
    return UsualChance(given, performances, occasions, sum(h.missed for h in histories))
