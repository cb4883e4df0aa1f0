"""How long the tests took: each run writes its seconds to a file, and a summary reads them."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

import pytest

TIMES = "TEST_TIMES"
"""the variable that names the file"""
SLOWEST = 10


class Stopwatch:
    """Adds up what each test took to prepare, to run and to clear away, in all processes."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._seconds: dict[str, float] = {}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        before = self._seconds.get(report.nodeid, 0)
        self._seconds[report.nodeid] = before + report.duration

    def pytest_sessionfinish(self) -> None:
        self._path.write_text(json.dumps(self._seconds))


def pytest_configure(config: pytest.Config) -> None:
    path = os.environ.get(TIMES)
    if path and not hasattr(config, "workerinput"):
        config.pluginmanager.register(Stopwatch(Path(path)))


def summary(files: Mapping[str, Path]) -> Iterator[str]:
    """The seconds by folder, and the slowest tests, of the runs whose files there are."""
    runs = {name: json.loads(path.read_text()) for name, path in files.items() if path.exists()}
    yield "\n=== Seconds by folder (all processes together) ==="
    for name, seconds in runs.items():
        yield from (f"{taken:7.1f}  {name}  {folder}" for folder, taken in by_folder(seconds))
    yield f"\n=== The {SLOWEST} slowest tests ==="
    every = ((taken, name, test) for name, run in runs.items() for test, taken in run.items())
    for taken, name, test in sorted(every, reverse=True)[:SLOWEST]:
        yield f"{taken:7.1f}  {name}  {test}"


def by_folder(seconds: Mapping[str, float]) -> Iterable[tuple[str, float]]:
    """The folders of the tests with their seconds, the slowest first."""
    found: dict[str, float] = {}
    for test, taken in seconds.items():
        folder = str(Path(test.split("::")[0]).parent)
        found[folder] = found.get(folder, 0) + taken
    return sorted(found.items(), key=lambda pair: -pair[1])
