"""A pytest plugin that lists every test naming a source outside the project.

``pytest --collect-only -qq -p tests.list_sources`` runs no test: it prints each source and,
under it, the tests that check against it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

import pytest


def by_source(tests: Iterable[pytest.Item]) -> dict[str, list[str]]:
    """Return the ids of the tests under each source they name, both in reading order.

    The cases of one parametrised test count as one line.
    """
    listed: dict[str, list[str]] = defaultdict(list)
    for test in tests:
        name = test.nodeid.split("[")[0]
        for marker in test.iter_markers("source"):
            if name not in listed[marker.args[0]]:
                listed[marker.args[0]].append(name)
    return {source: listed[source] for source in sorted(listed)}


@pytest.hookimpl(tryfirst=True)
def pytest_collection_finish(session: pytest.Session) -> None:
    """Print the list in place of pytest's own."""
    sources = by_source(session.items)
    for source, tests in sources.items():
        print(f"\n{source}")
        for test in tests:
            print(f"  {test}")
    count = len({test for tests in sources.values() for test in tests})
    print(f"\n{count} tests name {len(sources)} sources.")
    session.items = []
