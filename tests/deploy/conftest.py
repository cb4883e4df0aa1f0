"""A committed band in PostgreSQL, and the programs that save and restore it."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import psycopg
import pytest
from django.db import connection

from bandops import doctor
from bandops.env import ROOT
from tests.servers import packaged_postgres


def programs() -> str:
    """A folder with pg_dump and psql as new as the server, or newer."""
    for folder in doctor.find_postgres() + packaged_postgres():
        if (Path(folder) / "pg_dump").exists():
            return str(folder)
    return ""


@dataclass
class Site:
    """A site's database and files as the scripts in ``deploy/`` find them."""

    folder: Path
    made: list[str] = field(default_factory=list)

    @property
    def environment(self) -> dict[str, str]:
        d = connection.settings_dict
        url = f"postgresql://{d['USER']}:{d['PASSWORD']}@{d['HOST']}:{d['PORT']}/{d['NAME']}"
        path = f"{programs()}:{os.environ['PATH']}"
        media = str(self.folder / "media")
        return {**os.environ, "DATABASE_URL": url, "MEDIA_ROOT": media, "PATH": path}

    def run(self, script: str, *arguments: str, **more: str) -> subprocess.CompletedProcess[str]:
        command = ["bash", str(ROOT / "deploy" / script), *arguments]
        environment = self.environment | more
        return subprocess.run(
            command,
            env=environment,
            capture_output=True,
            text=True,
            stdin=subprocess.DEVNULL,
        )

    def url_of(self, database: str) -> str:
        return self.environment["DATABASE_URL"].rpartition("/")[0] + f"/{database}"

    def connect(self, database: str = "") -> psycopg.Connection[tuple[object, ...]]:
        name = database or str(connection.settings_dict["NAME"])
        return psycopg.connect(self.url_of(name), autocommit=True)

    def beside(self) -> str:
        """A name for a database beside the tests', dropped with them."""
        name = f"beside_{os.getpid()}_{len(self.made)}"
        self.made.append(name)
        return name


@pytest.fixture
def site(transactional_db: None, tmp_path: Path) -> Iterator[Site]:
    if connection.vendor != "postgresql":
        pytest.skip("saving and restoring is PostgreSQL's")
    if not programs() or shutil.which("gpg") is None:
        lack = "pg_dump" if not programs() else "gpg"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(f"no {lack} on this machine")
    (tmp_path / "media").mkdir()
    made = Site(tmp_path)
    yield made
    with made.connect() as server:
        for name in made.made:
            server.execute(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)".encode())
