"""A problem as text and as a hash, the same wherever it is computed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from operator import attrgetter, le
from typing import Any

from drill.lineup.core.kept import kept
from drill.lineup.core.lessons import Lessons
from drill.lineup.core.problem import Block, Lack, LineupProblem, Member, Segment

Rows = tuple[Any, ...]
BY_KEY = attrgetter("key")


def canonical(problem: LineupProblem) -> LineupProblem:
    """The same problem with every row in the order of its key."""
    return replace(
        problem,
        members=_members(problem.members),
        spots=_by_key(problem.spots),
        segments=_segments(problem.segments),
        parts=_by_key(problem.parts),
        ranks=_by_key(problem.ranks),
        reference=_plain(problem.reference),
        pins=_plain(problem.pins),
        blocks=_blocks(problem.blocks),
        backups=_plain(problem.backups),
        stock=_plain(problem.stock),
        wears=_plain(problem.wears),
        spares=_plain(problem.spares),
    )


def _in_order(rows: Rows, by: Callable[[Any], Any]) -> Rows:
    keys = [by(row) for row in rows]
    return rows if all(map(le, keys, keys[1:])) else tuple(sorted(rows, key=by))


@kept(32)
def _by_key(rows: Rows) -> Rows:
    return _in_order(rows, BY_KEY)


@kept(32)
def _plain(rows: Rows) -> Rows:
    return tuple(sorted(rows))


@kept(8)
def _members(rows: tuple[Member, ...]) -> tuple[Member, ...]:
    def tidy(m: Member) -> Member:
        skills = tuple(sorted(m.skills)) if len(m.skills) > 1 else m.skills
        lacks = tuple(sorted(Lack(k.kind, tuple(sorted(k.fits))) for k in m.lacks))
        if skills == m.skills and lacks == m.lacks:
            return m
        return replace(m, skills=skills, lacks=lacks)

    return _in_order(tuple(map(tidy, rows)), BY_KEY)


@kept(8)
def _segments(rows: tuple[Segment, ...]) -> tuple[Segment, ...]:
    return _in_order(tuple(replace(s, spots=tuple(sorted(s.spots))) for s in rows), BY_KEY)


@kept(8)
def _blocks(rows: tuple[Block, ...]) -> tuple[Block, ...]:
    return tuple(sorted(rows, key=lambda b: (b.member, b.segment or "", b.spot or "")))


def problem_hash(problem: LineupProblem) -> str:
    """A hex digest that two problems share exactly when they say the same."""
    return problem_hashes(problem)[0]


def problem_hashes(problem: LineupProblem) -> tuple[str, str]:
    """The problem's digest, and the one it would have without a reference."""
    ordered = canonical(problem)
    said = {f.name: getattr(ordered, f.name) for f in fields(ordered)}
    texts = {name: json.dumps(rows, default=_said, sort_keys=True) for name, rows in said.items()}
    return _digest(texts), _digest(texts | {"reference": "[]"})


def _said(value: object) -> object:
    if isinstance(value, Lessons):
        return list(value)
    if isinstance(value, frozenset):
        return sorted(value)
    if is_dataclass(value):
        return {f.name: getattr(value, f.name) for f in fields(value)}
    raise TypeError(type(value).__name__)


def _digest(texts: dict[str, str]) -> str:
    """Of the problem as one JSON object whose names are sorted."""
    text = ", ".join(f'"{name}": {texts[name]}' for name in sorted(texts))
    return hashlib.sha256(f"{{{text}}}".encode()).hexdigest()
