"""What several people's notes about one member at one rehearsal come to.

Of each noter the latest note counts. Where those say different things the member's state is open
and all of them are shown, until one note settles it: notes made before that one fall behind it,
notes made after it count again. Only the times at which notes were made matter, never the order
in which they arrived.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Note:
    """One note. ``by`` is empty when the noter's account is gone; ``key`` parts equal times."""

    key: str
    by: str
    state: str
    at: datetime.datetime
    settles: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """The state, or None where nobody has noted or the notes differ.

    ``counting`` holds the latest note of each noter, ``behind`` all others, both in the order in
    which they were made.
    """

    state: str | None
    counting: tuple[Note, ...]
    behind: tuple[Note, ...]

    @property
    def differs(self) -> bool:
        """True when two noters say different things."""
        return self.state is None and bool(self.counting)


def decide(notes: Iterable[Note]) -> Outcome:
    """What the notes about one member come to, in whatever order they are given."""
    made = sorted(notes, key=_moment)
    settled = max((n for n in made if n.settles), key=_moment, default=None)
    latest: dict[str, Note] = {}
    for note in made:
        if settled is None or _moment(note) >= _moment(settled):
            latest[note.by or note.key] = note
    counting = tuple(sorted(latest.values(), key=_moment))
    states = {note.state for note in counting}
    behind = tuple(note for note in made if note not in counting)
    return Outcome(states.pop() if len(states) == 1 else None, counting, behind)


def _moment(note: Note) -> tuple[datetime.datetime, bool, str]:
    """The order of notes; at the same moment the one that settles is the later."""
    return note.at, note.settles, note.key
