"""A kind of job whose handler does as it is told."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from bandops.lib.outbox import registry
from bandops.lib.outbox.models import Job

KIND = "tests.note"


class Handler:
    """Counts what it was asked and what was stored; ``before`` runs in the middle of the work."""

    def __init__(self) -> None:
        self.asked: list[dict[str, Any]] = []
        self.stored = 0
        self.before: Callable[[], object] = lambda: None
        self.at_store: Callable[[], object] = lambda: None

    def __call__(self, payload: dict[str, Any]) -> Callable[[], None]:
        self.asked.append(payload)
        self.before()
        return self._store

    def _store(self) -> None:
        self.at_store()
        self.stored += 1


@pytest.fixture
def handler(monkeypatch: pytest.MonkeyPatch) -> Handler:
    made = Handler()
    monkeypatch.setitem(registry._handlers, KIND, made)
    return made


def job(key: str = "one", **values: Any) -> Job:
    return Job.objects.create(key=key, kind=KIND, payload={"n": 1}, **values)


def fail(text: str = "the printer is out of ink") -> object:
    raise RuntimeError(text)
