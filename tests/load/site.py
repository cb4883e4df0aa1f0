"""A site of some commit's code on a PostgreSQL of its own, with the demo band in it."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.servers import free_port, private_postgres, stop

ROOT = Path(__file__).resolve().parents[2]


@dataclass
class Site:
    """Where it answers, and who is signed in."""

    code: Path
    port: int
    variables: dict[str, str]
    seed: dict[str, Any]

    def manage(self, *arguments: str) -> None:
        """A command of the site, to its end."""
        command = [sys.executable, "manage.py", *arguments]
        subprocess.run(command, cwd=self.code, env=self.variables, check=True, capture_output=True)

    @contextlib.contextmanager
    def beside(self, text: str) -> Iterator[None]:
        """Something that runs again and again meanwhile, in a process that lets pages go first."""
        loop = f"while True:\n    {text}\n"
        command = ["nice", "-n", "10", sys.executable, "manage.py", "shell", "-c", loop]
        process = subprocess.Popen(
            command, cwd=self.code, env=self.variables, stdout=subprocess.DEVNULL
        )
        try:
            yield
        finally:
            stop(process)


@contextlib.contextmanager
def site_of(code: Path) -> Iterator[Site]:
    """Serves the code's site; a minute and a half to make the band."""
    with tempfile.TemporaryDirectory(prefix="bandops-load-") as name, contextlib.ExitStack() as up:
        folder = Path(name)
        folder.chmod(0o711)
        (folder / "postgres").mkdir()
        url = up.enter_context(private_postgres(folder / "postgres"))
        port = free_port()
        variables = os.environ | {
            "DJANGO_SETTINGS_MODULE": "bandops.settings.test",
            "DATABASE_URL": url,
            "MEDIA_ROOT": str(folder / "media"),
            "BIND": f"127.0.0.1:{port}",
            "WEB_CONCURRENCY": "2",
            "SEED_TO": str(folder / "seed.json"),
        }
        site = Site(code, port, variables, {})
        psql(url)
        site.manage("demo", "--no-serve")
        seed = (Path(__file__).parent / "seed.py").read_text()
        site.manage("shell", "-c", seed)
        site.seed = json.loads((folder / "seed.json").read_text())
        up.enter_context(_served(site))
        yield site


def figures(site: Site) -> Iterator[str]:
    """What the band takes: rows, bytes, and what a phone's page asks of the database."""
    import psycopg

    with psycopg.connect(site.variables["DATABASE_URL"], autocommit=True) as server:
        server.execute("ANALYZE")
        size = "SELECT pg_database_size(current_database())"
        rows = "SELECT sum(n_live_tup), max(n_live_tup) FROM pg_stat_user_tables"
        commits = "SELECT xact_commit FROM pg_stat_database WHERE datname = current_database()"
        (stored,) = server.execute(size).fetchone() or (0,)
        time.sleep(1)
        (count, largest) = server.execute(rows).fetchone() or (0, 0)
        (done,) = server.execute(commits).fetchone() or (0,)
    media = sum(p.stat().st_size for p in Path(site.variables["MEDIA_ROOT"]).rglob("*.pdf"))
    yield f"{count:,} rows, the largest table {largest:,}"
    yield f"{stored / 1e6:.0f} MB in the database, {media / 1e6:.1f} MB of prints"
    yield f"{done:,} transactions so far"


def psql(url: str) -> None:
    """The database that the address names, in a server that is new."""
    import psycopg

    with psycopg.connect(url.rpartition("/")[0] + "/postgres", autocommit=True) as server:
        server.execute("CREATE DATABASE bandops")


@contextlib.contextmanager
def _served(site: Site) -> Iterator[None]:
    settings = site.code / "deploy" / "gunicorn.conf.py"
    known = ["-c", str(settings)] if settings.exists() else ["-w", "2"]
    command = [sys.executable, "-m", "gunicorn", *known, "-b", site.variables["BIND"]]
    command += ["--log-level", "error", "bandops.wsgi"]
    process = subprocess.Popen(command, cwd=site.code, env=site.variables)
    try:
        for _ in range(300):
            with contextlib.suppress(OSError):
                urllib.request.urlopen(f"http://127.0.0.1:{site.port}/sign-in/", timeout=5)
                break
            time.sleep(0.1)
        yield
    finally:
        stop(process)
