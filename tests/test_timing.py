"""The summary after a run: seconds by folder, the slowest tests of all runs together."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Literal

import pytest

from tests.timing import SLOWEST, Stopwatch, summary

When = Literal["setup", "call", "teardown"]
WHENS: tuple[When, ...] = ("setup", "call", "teardown")


def report(test: str, when: When, seconds: float) -> pytest.TestReport:
    return pytest.TestReport(
        test,
        ("", 0, ""),
        {},
        "passed",
        None,
        when,
        duration=seconds,
    )


def test_preparing_running_and_clearing_away_count_together(tmp_path: Path) -> None:
    watch = Stopwatch(tmp_path / "times")
    for when in WHENS:
        watch.pytest_runtest_logreport(report("tests/a/test_b.py::test_c", when, 0.5))
    watch.pytest_sessionfinish()
    assert json.loads((tmp_path / "times").read_text()) == {"tests/a/test_b.py::test_c": 1.5}


def test_folders_and_slowest_tests_are_listed_by_seconds(tmp_path: Path) -> None:
    one = {f"tests/a/test_b.py::test_{n}": float(n) for n in range(SLOWEST + 5)}
    files = {"SQLite": tmp_path / "one", "PostgreSQL": tmp_path / "two", "none": tmp_path / "no"}
    files["SQLite"].write_text(json.dumps(one | {"tests/d/test_e.py::test_f": 1.0}))
    files["PostgreSQL"].write_text(json.dumps({"tests/d/test_e.py::test_g": 99.0}))
    lines = list(summary(files))
    folders = [line.split() for line in lines[1:4]]
    assert folders == [
        [f"{sum(one.values()):.1f}", "SQLite", "tests/a"],
        ["1.0", "SQLite", "tests/d"],
        ["99.0", "PostgreSQL", "tests/d"],
    ]
    assert lines[5].split() == ["99.0", "PostgreSQL", "tests/d/test_e.py::test_g"]
    assert len(lines) == 5 + SLOWEST
