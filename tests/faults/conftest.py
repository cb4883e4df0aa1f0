"""The faults' tests need PostgreSQL; their counts are the last line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.killing import TALLY


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.servers)
            item.add_marker(pytest.mark.postgres("what a dead process leaves in it"))


@pytest.fixture(scope="session", autouse=True)
def _summary(request: pytest.FixtureRequest) -> object:
    """Says what was tried, in every process that tried something."""
    yield
    if TALLY.tried:
        print(f"\nFaults: {TALLY.line()}", flush=True)
