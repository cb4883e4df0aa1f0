"""Whether a member is at a performance, by the notes about them.

The latest word counts: whoever was marked missing and is seen later has come. Only where somebody
misses a member whom another has seen do the notes differ.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace

from drill.rehearsals.core.attendance import Outcome

PRESENT, LATE, LEFT, ABSENT = "present", "late", "left", "absent"


@dataclass(frozen=True, slots=True)
class Presence:
    """``state`` is the latest word, None where nobody has noted or the notes differ; ``at`` is
    when it was said."""

    state: str | None = None
    at: datetime.datetime | None = None
    differs: bool = False

    @property
    def is_here(self) -> bool:
        """Seen, and not gone since."""
        return self.state in (PRESENT, LATE)

    def was_in(
        self, starts: datetime.datetime, ends: datetime.datetime, over: datetime.datetime
    ) -> bool | None:
        """Whether they were there for what lasts from ``starts`` to ``ends``; None where the notes
        do not tell. Who came late missed what had ended, who left early what had not begun; a note
        made when all was ``over`` does not say when they came."""
        if self.state is None or self.at is None:
            return None
        if self.state == LATE:
            return self.at >= over or self.at < ends
        if self.state == LEFT:
            return self.at > starts
        return self.state == PRESENT


def presence(outcome: Outcome) -> Presence:
    """What the notes about one member come to at a performance."""
    if not outcome.counting:
        return Presence()
    last = outcome.counting[-1]
    if outcome.differs and last.state == ABSENT:
        return Presence(at=last.at, differs=True)
    return Presence(last.state, last.at)


def at_performance(outcome: Outcome) -> Outcome:
    """The outcome of the same notes by the rule of performances."""
    return replace(outcome, state=presence(outcome).state)
