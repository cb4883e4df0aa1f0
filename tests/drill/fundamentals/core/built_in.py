"""The fundamentals everybody has and the examples to add, as the tests use them."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from drill.fundamentals.core import Fundamental, Move, load

ROOT = Path(__file__).resolve().parents[4]
SOURCES = ROOT / "tests" / "sources"
USUAL, EXAMPLES = (
    load(json.loads((ROOT / "fixtures" / f"{name}.json").read_text("utf-8")))
    for name in ("fundamentals", "fundamental_examples")
)
BUILT_IN = USUAL | EXAMPLES
"""what a band has that added every example"""
EPSILON = 1e-6
"""inches: the tables are written to six decimals"""


def move(code: str, over: int | None = None, /, **changed: Any) -> Move:
    """A move of a built-in fundamental, with some of its parameters changed."""
    it: Fundamental = replace(BUILT_IN[code], **changed)
    return Move(it, it.counts or 0 if over is None else over)


def table(name: str) -> Any:
    """One of the tables of kinematics."""
    return json.loads((SOURCES / f"{name}.json").read_text("utf-8"))
