"""The sheet check: what is likely a slip of the pen, to be settled before any average is shown."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from roster.tryouts import queries
from roster.tryouts.core import sheets as core
from roster.tryouts.models import (
    Candidate,
    Panelist,
    SettledFinding,
    Tryout,
    TryoutSession,
)
from roster.tryouts.services.judged import Judged, LookKey, judged
from roster.tryouts.wording import numbers_words

MOST_ODDS = 1_000_000


@dataclass(frozen=True)
class Finding:
    """Something to look at, in words. ``moves``: which look's marks (ids of candidate, evaluator,
    session) would go to which other one, where moving marks would set it right; ``beside``: the
    looks it is about, next to what others gave."""

    key: str
    title: str
    text: str
    moves: tuple[tuple[LookKey, LookKey], ...] = ()
    beside: tuple[Beside, ...] = ()


@dataclass(frozen=True)
class Beside:
    """One look of a finding beside what others gave the same candidate, all in percent; None
    where nobody else gave anything, or where no marks would move there."""

    candidate: Candidate
    figure: float
    others: float | None
    moved: float | None


@dataclass(frozen=True)
class Checked:
    """``grave``: to be settled before averages are shown; ``missing``: what evaluators have not
    said, which is no slip yet."""

    grave: tuple[Finding, ...]
    missing: tuple[str, ...] = field(default=())


def check_sheets(tryout: Tryout, found: Judged | None = None) -> Checked:
    """What the marks of a tryout show; without what was settled already."""
    found = found or judged(tryout)
    settled = set(SettledFinding.objects.filter(tryout=tryout).values_list("key", flat=True))
    every = [*_off_scale(found), *_straight(found), *_misplaced(found)]
    grave = tuple(it for it in every if it.key not in settled)
    return Checked(grave, (*_unmarked(found), *_never_seen(tryout, found)))


def settle(*, actor: User, tryout: Tryout, key: str) -> None:
    """The marks are right as they stand."""
    with recorded(actor, "settle finding"):
        SettledFinding.objects.get_or_create(
            tryout=tryout, key=key[:100], defaults={"said_by": actor}
        )


def _off_scale(found: Judged) -> Iterable[Finding]:
    for row, mark in enumerate(found.of_mark):
        criterion = found.criteria[int(found.marks.criterion[row])]
        value = float(found.marks.value[row])
        if not criterion.bottom <= value <= criterion.top:
            number = mark.candidate.called
            yield Finding(
                f"scale {mark.pk} {value:g}",
                "Off the scale",
                f"{mark.panelist} gave {number} {value:g} for {criterion}, which goes from "
                f"{criterion.bottom} to {criterion.top}.",
            )


def _straight(found: Judged) -> Iterable[Finding]:
    marks = found.marks
    by_place = [core.Sheet(found.counting[sheet.rows]) for sheet in found.sheets]
    for line in core.straight_lines(marks, by_place):
        keys = [found.keys[at] for at in line.looks]
        panelist, session, numbers = _of(found, keys)
        yield Finding(
            _key("line", found, keys),
            "The same marks again and again",
            f"{panelist} gave {numbers} the very same marks ({session}). Ask whether they mean "
            "it; otherwise correct the looks.",
        )


def _misplaced(found: Judged) -> Iterable[Finding]:
    for it in core.misplaced(found.looks, found.sheets):
        rows = (it.first, it.second) if isinstance(it, core.Exchanged) else it.looks
        keys = [found.keys[found.counting[row]] for row in rows]
        panelist, session, numbers = _of(found, keys)
        times = f"{it.odds:,.0f}" if it.odds < MOST_ODDS else "over a million"
        better = f"{times} times better than where they stand"
        marks = f"{panelist}'s marks of {numbers} ({session})"
        if isinstance(it, core.Exchanged):
            moves = ((keys[0], keys[1]), (keys[1], keys[0]))
            yield Finding(
                _key("exchanged", found, keys),
                "Possibly exchanged",
                f"{marks} fit what others gave the other of the two {better}.",
                moves,
                _beside(found, keys, moves),
            )
        else:
            onward = _shift_moves(found, rows, it.by)
            way = "next" if it.by == 1 else "one before"
            yield Finding(
                _key("shifted", found, keys),
                "Possibly shifted by a row",
                f"{marks} fit what others gave the {way} on the sheet {better}.",
                onward,
                _beside(found, keys, onward),
            )


def _shift_moves(
    found: Judged, rows: Sequence[int], by: int
) -> tuple[tuple[LookKey, LookKey], ...]:
    """Each look's marks to the look a row further; none where the last one has nowhere to go."""
    sheet = next(s.rows.tolist() for s in found.sheets if rows[0] in s.rows.tolist())
    moves = []
    for row in rows:
        to = sheet.index(row) + by
        if not 0 <= to < len(sheet):
            return ()
        moves.append((found.keys[found.counting[row]], found.keys[found.counting[sheet[to]]]))
    return tuple(moves)


def _beside(
    found: Judged, keys: Sequence[LookKey], moves: Sequence[tuple[LookKey, LookKey]]
) -> tuple[Beside, ...]:
    """The looks that a finding is about, then those that marks would move to."""
    figure = found.figure_of
    comes = {to: figure[key] for key, to in moves}
    evaluator = keys[0][1]
    rows = []
    for key in dict.fromkeys((*keys, *comes)):
        others = [f for (c, e, _), f in figure.items() if c == key[0] and e != evaluator]
        mean = sum(others) / len(others) if others else None
        rows.append(Beside(found.of_key(key)[0], figure[key], mean, comes.get(key)))
    return tuple(rows)


def _of(found: Judged, keys: Sequence[LookKey]) -> tuple[Panelist, TryoutSession, str]:
    _, panelist, session = found.of_key(keys[0])
    return panelist, session, numbers_words([found.of_key(key)[0].called for key in keys])


def _key(kind: str, found: Judged, keys: Sequence[LookKey]) -> str:
    """Names the finding with the figures it rests on: other marks make another finding."""
    figures = sum(found.figure_of[key] * n for n, key in enumerate(keys, 1))
    first, last = keys[0], keys[-1]
    return f"{kind} {first[1]} {first[2]} {first[0]} {last[0]} {len(keys)} {figures:.4f}"


def _unmarked(found: Judged) -> Iterable[str]:
    """Looks with some criteria neither marked nor said to be not seen."""
    given = set(zip(found.marks.look.tolist(), found.marks.criterion.tolist(), strict=True))
    given |= found.not_seen
    for at, key in enumerate(found.keys):
        lacks = [str(c) for i, c in enumerate(found.criteria) if (at, i) not in given]
        if lacks:
            candidate, panelist, session = found.of_key(key)
            yield (
                f"{panelist.code} has not said anything about {', '.join(lacks)} of "
                f"{candidate.called} in {session}."
            )


def _never_seen(tryout: Tryout, found: Judged) -> Iterable[str]:
    """Looks that the plan has and nobody gave, evaluator by evaluator."""
    lacks = queries.planned_looks(tryout).difference(found.keys)
    for panelist in found.panelists:
        for session in found.sessions:
            numbers = [
                str(c.number or "no number")
                for c in found.candidates
                if (c.pk, panelist.pk, session.pk) in lacks
            ]
            if numbers:
                yield f"{panelist.code} has not marked {numbers_words(numbers)} in {session.name}."
