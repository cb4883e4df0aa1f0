"""Running an action in a process of its own, to be killed before a statement."""

from __future__ import annotations

import hashlib
import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

import psycopg
from django.apps import apps
from django.db import connection, models

Act = Callable[[], None]
VOLATILE = (
    models.AutoField,
    models.DateTimeField,
    models.UUIDField,
    models.ForeignKey,
    models.JSONField,
    models.FileField,
    models.BinaryField,
)
"""columns that differ from run to run: numbers, moments, keys, and what points or quotes them"""
CHANCE = {"password", "key", "digest", "code", "batch", "row_id", "problem_hash", "facts_hash"}
NOT_COMPARED = {"django_session", "django_migrations"}
State = dict[str, tuple[int, str]]
DIED, FAILED = "killed", "failed"


@dataclass
class Tally:
    """What was tried, and what came of it."""

    points: int = 0
    died: int = 0
    crashes: int = 0
    brokers: int = 0
    full: int = 0
    replays: int = 0
    undone: int = 0
    done: int = 0
    wrong: list[str] = field(default_factory=list)

    @property
    def tried(self) -> bool:
        return any((self.points, self.brokers, self.full, self.replays))

    def line(self) -> str:
        """The summary: each of the three must be none."""
        return (
            f"fault points {self.points}, processes killed {self.died}, databases crashed "
            f"{self.crashes}, brokers killed {self.brokers}, disks full {self.full}, offline "
            f"messages out of order or twice {self.replays}, "
            f"actions undone {self.undone}, done before the kill {self.done}, "
            f"lost, doubled or mixed {len(self.wrong)}"
        )


TALLY = Tally()


@contextmanager
def on_server(url: str) -> Iterator[None]:
    """All of this on another server than the tests' own."""
    d, there = connection.settings_dict, urlsplit(url)
    own = {name: d[name] for name in ("HOST", "PORT", "USER", "PASSWORD", "NAME")}
    connection.close()
    other = (there.hostname, str(there.port), there.username, there.password, own["NAME"])
    d.update(zip(own, other, strict=True))
    try:
        yield
    finally:
        connection.close()
        d.update(own)


@contextmanager
def copy_of(database: str, name: str) -> Iterator[str]:
    """A copy of a database that nobody is connected to; gone afterwards."""
    with _server() as server:
        server.execute(f'CREATE DATABASE "{name}" TEMPLATE "{database}"'.encode())
    try:
        yield name
    finally:
        with _server() as server:
            server.execute(f'DROP DATABASE IF EXISTS "{name}" WITH (FORCE)'.encode())


def _server() -> psycopg.Connection[tuple[Any, ...]]:
    d = connection.settings_dict
    return psycopg.connect(
        host=d["HOST"],
        port=d["PORT"],
        user=d["USER"],
        password=d["PASSWORD"],
        dbname="postgres",
        autocommit=True,
    )


def die() -> None:
    """What usually happens before a statement."""
    os.kill(os.getpid(), signal.SIGKILL)


def run_in(database: str, act: Act, *, kill_before: int = 0, happens: Act = die) -> str:
    """Do something in a child process with its own connection: ``killed``, ``failed`` where
    something else than its death ``happens``, or how many statements it made. What the child says
    goes through a pipe; it never returns here."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        _be_child(database, act, kill_before, happens, writing)
    os.close(writing)
    with os.fdopen(reading) as told:
        said = told.read()
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL:
        return DIED
    if status and kill_before and happens is not die:
        return FAILED
    assert status == 0, f"the child failed: {said}"
    return said


def _be_child(database: str, act: Act, kill_before: int, happens: Act, writing: int) -> None:
    """Never returns: whatever fails is told through the pipe."""
    count = 0

    def counting(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        nonlocal count
        count += 1
        if count == kill_before:
            happens()
        return execute(sql, params, many, context)

    try:
        connection.close()
        connection.settings_dict["NAME"] = database
        with connection.execute_wrapper(counting), _commits_count(counting):
            act()
        connection.close()
        os.write(writing, str(count).encode())
        os._exit(0)
    except BaseException as error:
        os.write(writing, repr(error)[:2000].encode())
        os._exit(1)


@contextmanager
def _commits_count(counting: Any) -> Iterator[None]:
    """A commit is a point, too: before it and after it nothing looks alike."""
    commit = connection._commit  # type: ignore[attr-defined]

    def counted() -> None:
        counting(lambda *rest: None, "COMMIT", None, False, {})
        commit()

    connection._commit = counted  # type: ignore[attr-defined]
    try:
        yield
    finally:
        connection._commit = commit  # type: ignore[attr-defined]


def state_of(database: str) -> State:
    """Each table's rows: how many, and a digest of what in them is the same in every run."""
    found: State = {}
    old = connection.settings_dict["NAME"]
    connection.close()
    connection.settings_dict["NAME"] = database
    try:
        for model in apps.get_models(include_auto_created=True):
            table = model._meta.db_table
            if table not in NOT_COMPARED:
                found[table] = _digest(model)
    finally:
        connection.close()
        connection.settings_dict["NAME"] = old
    return found


def _digest(model: type[models.Model]) -> tuple[int, str]:
    columns = [
        f.attname
        for f in model._meta.concrete_fields
        if not isinstance(f, VOLATILE) and f.attname not in CHANCE
    ]
    rows = sorted(map(str, model._base_manager.values_list(*columns))) if columns else []
    count = model._base_manager.count()
    return count, hashlib.sha256("\n".join(rows).encode()).hexdigest()


def differing(one: State, other: State) -> list[str]:
    """The tables that are not alike, with their counts."""
    return [
        f"{table}: {one[table][0]} rows, then {other[table][0]}"
        for table in one
        if one[table] != other[table]
    ]


def wait_until_free(database: str) -> None:
    """A killed process's connection takes a moment to be noticed."""
    for _ in range(200):
        with _server() as server:
            sql = "SELECT count(*) FROM pg_stat_activity WHERE datname = %s"
            row = server.execute(sql, [database]).fetchone()
        if row is not None and row[0] == 0:
            return
        time.sleep(0.05)
    raise TimeoutError(f"somebody is connected to {database}")
