"""Worlds that tests share: built once, in a transaction that stays open, and copied for each test.

A world is a fixture named ``kept_…`` that is registered here, and may stand on another. The tests
that ask for it one after another get copies of the same objects, each test in a savepoint of its
own; the first test that asks for something else has it taken back.
"""

from __future__ import annotations

import copy
import shutil
import tempfile
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.core import mail
from django.core.cache import cache
from django.db import transaction
from django.test import TestCase, override_settings

Made = dict[str, Any]


@dataclass(frozen=True)
class Layer:
    """How a world is made from those below it."""

    make: Callable[[Made], Any]
    below: str = ""
    with_jobs: bool = False
    """what waits for the commit is done, as if there had been one"""

    def build(self, made: Made) -> Any:
        """The world's objects; its rows are in the database."""
        with TestCase.captureOnCommitCallbacks(execute=self.with_jobs):
            return self.make(made)


LAYERS: dict[str, Layer] = {}


def chain(name: str) -> list[str]:
    """The world and those that it stands on, the lowest first."""
    below = LAYERS[name].below
    return [*(chain(below) if below else []), name]


def wanted(fixtures: Collection[str]) -> list[str]:
    """The worlds that a test with these fixtures stands on, the lowest first."""
    chains = [chain(name) for name in LAYERS if name in fixtures]
    longest = max(chains, key=len, default=[])
    assert all(set(one) <= set(longest) for one in chains), f"two worlds at once: {chains}"
    return longest


class Keeper:
    """The worlds that stand at this moment, each in a transaction inside that of the one below."""

    def __init__(self) -> None:
        self._folder = tempfile.TemporaryDirectory(prefix="bandops-kept-")
        self._made: Made = {}
        self._open: list[tuple[str, transaction.Atomic]] = []

    @property
    def names(self) -> list[str]:
        return [name for name, _ in self._open]

    @property
    def files(self) -> Path:
        """The files of the worlds, below each one a folder of the whole."""
        return Path(self._folder.name) / str(len(self._open))

    def prepare(self, names: list[str]) -> None:
        """Let exactly these worlds stand."""
        while self.names != names[: len(self._open)]:
            self._take_back()
        for name in names[len(self._open) :]:
            self._add(name)

    def copies(self) -> Made:
        """The objects as they were built; what a test changes in them is its own."""
        return copy.deepcopy(self._made)

    def end(self) -> None:
        """Take everything back."""
        self.prepare([])
        self._folder.cleanup()

    def _add(self, name: str) -> None:
        block = transaction.atomic()
        block._from_testcase = True  # type: ignore[attr-defined]  # what is durable may be inside
        block.__enter__()
        lower = self.files
        self._open.append((name, block))
        try:
            with override_settings(MEDIA_ROOT=copied(lower, self.files)):
                self._made[name] = LAYERS[name].build(self._made)
        except BaseException:
            self._take_back()
            raise
        finally:
            cache.clear()
            mail.outbox = []

    def _take_back(self) -> None:
        shutil.rmtree(self.files, ignore_errors=True)
        name, block = self._open.pop()
        self._made.pop(name, None)
        transaction.set_rollback(True)
        block.__exit__(None, None, None)


def copied(source: Path, target: Path) -> Path:
    """The target, with the files of the source where there are some."""
    if source.exists():
        shutil.copytree(source, target, dirs_exist_ok=True)
    else:
        target.mkdir(parents=True, exist_ok=True)
    return target
