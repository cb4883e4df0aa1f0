"""What runs on PostgreSQL too says why, and what it says is a sentence's worth."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]


def marks() -> Iterator[tuple[str, list[ast.expr]]]:
    """Every use of the mark: where it stands, and what it is given."""
    for path in sorted(TESTS.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        given = {id(node.func): node.args for node in ast.walk(tree) if isinstance(node, ast.Call)}
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and ast.unparse(node) == "pytest.mark.postgres":
                yield f"{path.relative_to(TESTS)}:{node.lineno}", given.get(id(node), [])


def test_each_test_on_postgres_has_its_reason() -> None:
    found = list(marks())
    assert len(found) > 30, "the test finds the marks"
    for where, given in found:
        reasons = [node.value for node in given if isinstance(node, ast.Constant)]
        assert len(reasons) == 1 and len(str(reasons[0]).split()) > 1, where
