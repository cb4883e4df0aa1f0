"""Small tables of looks, published tables, and weeks whose truth is known."""

from __future__ import annotations

import csv
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from roster.tryouts.core.looks import Floats, Ints, Looks

SOURCES = Path(__file__).resolve().parents[3] / "sources"


def table_of(name: str) -> list[dict[str, str]]:
    """The rows of a published table."""
    with (SOURCES / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def expected_of(name: str) -> Any:
    return json.loads((SOURCES / name).read_text(encoding="utf-8"))


def looks_of(rows: Sequence[tuple[int, int, int, float]], **counts: int) -> Looks:
    """Looks from (candidate, evaluator, session, figure); ``counts`` where there are more
    candidates, evaluators or sessions than have looks."""
    candidate, evaluator, session = (
        np.array([r[i] for r in rows], dtype=np.intp) for i in (0, 1, 2)
    )
    return Looks(
        candidate=candidate,
        evaluator=evaluator,
        session=session,
        figure=np.array([float(r[3]) for r in rows]),
        candidates=counts.get("candidates", int(candidate.max()) + 1),
        evaluators=counts.get("evaluators", int(evaluator.max()) + 1),
        sessions=counts.get("sessions", int(session.max()) + 1),
    )


def reordered(looks: Looks, order: Ints) -> Looks:
    """The same looks, their rows in another order."""
    return replace(
        looks,
        candidate=looks.candidate[order],
        evaluator=looks.evaluator[order],
        session=looks.session[order],
        figure=looks.figure[order],
    )


def coded(values: Sequence[str]) -> tuple[Ints, list[str]]:
    """Each value's place among all that occur, and those."""
    names, codes = np.unique(np.array(values), return_inverse=True)
    return codes.astype(np.intp), [str(name) for name in names]


@dataclass(frozen=True, slots=True, eq=False)
class Week:
    """Looks and the truth they were made from."""

    looks: Looks
    truth: Floats
    offset: Floats


@dataclass(frozen=True, slots=True)
class Field:
    """How a week is made: sizes, and standard deviations in percent."""

    candidates: int = 24
    evaluators: int = 6
    each: int = 3
    truth: float = 6.0
    severity: float = 5.0
    rest: float = 4.0


def random_panels(rng: np.random.Generator, field: Field) -> list[tuple[int, int]]:
    """(candidate, evaluator): so many different evaluators each, by chance."""
    return [
        (candidate, int(evaluator))
        for candidate in range(field.candidates)
        for evaluator in rng.choice(field.evaluators, field.each, replace=False)
    ]


def week(rng: np.random.Generator, field: Field) -> Week:
    """A week of one session with random panels."""
    truth = rng.normal(70, field.truth, field.candidates)
    offset = rng.normal(0, field.severity, field.evaluators)
    offset -= offset.mean()
    rows = [
        (c, e, 0, truth[c] + offset[e] + rng.normal(0, field.rest))
        for c, e in random_panels(rng, field)
    ]
    looks = looks_of(rows, candidates=field.candidates, evaluators=field.evaluators)
    return Week(looks, truth, offset)


def design(looks: Looks) -> Floats:
    """A column for each candidate, evaluator and session (rows, C + E + S)."""
    rows = np.arange(looks.figure.size)
    columns = np.zeros((rows.size, looks.candidates + looks.evaluators + looks.sessions))
    columns[rows, looks.candidate] = 1
    columns[rows, looks.candidates + looks.evaluator] = 1
    columns[rows, looks.candidates + looks.evaluators + looks.session] = 1
    return columns
