"""The database is cut off before any statement of publishing, importing, marking, issuing: after
its recovery what was begun is undone or done, and sent again it is done once."""

from __future__ import annotations

import os
import subprocess
from urllib.parse import urlsplit

import pytest
from django.db import connection

from tests.architecture.world import World
from tests.examples import LONG
from tests.factories import Cast
from tests.faults.acting import ACTIONS, Action, chosen, done_whole, judge, made
from tests.faults.killing import (
    TALLY,
    copy_of,
    on_server,
    run_in,
)
from tests.servers import Postgres, crashing_postgres, server_folder

__all__ = ["made"]

pytestmark = pytest.mark.django_db(transaction=True)
CRASHES = 60 if LONG else 2
"""for each of the four actions"""


def clone(name: str, server: Postgres) -> None:
    """The tests' database on the server that is to crash, under the same name."""
    d, there = connection.settings_dict, urlsplit(server.url)
    own = ["-h", d["HOST"], "-p", str(d["PORT"]), "-U", d["USER"]]
    other = ["-h", str(there.hostname), "-p", str(there.port), "-U", str(there.username)]
    asks = os.environ | {"PGPASSWORD": str(there.password)}
    dump = subprocess.run(
        [server.programs / "pg_dump", *own, "--no-owner", name],
        env=os.environ | {"PGPASSWORD": d["PASSWORD"]},
        check=True,
        capture_output=True,
    )
    subprocess.run([server.programs / "createdb", *other, name], env=asks, check=True)
    subprocess.run(
        [server.programs / "psql", *other, "--quiet", "--no-psqlrc", "-d", name],
        input=dump.stdout,
        env=asks,
        check=True,
        capture_output=True,
    )


def test_a_database_cut_off_anywhere_keeps_whole_actions(
    made: tuple[World, Cast],
) -> None:
    world, cast = made
    actions = [make(world, cast.staff) for make in ACTIONS]
    source = str(connection.settings_dict["NAME"])
    with server_folder() as folder, crashing_postgres(folder) as server:
        clone(source, server)
        with on_server(server.url):
            for action in actions:
                _cut_off(server, source, action)
    assert not TALLY.wrong, "\n".join(TALLY.wrong)


def _cut_off(server: Postgres, source: str, action: Action) -> None:
    count, before, wanted = done_whole(source, action)
    for point in chosen(count, f"crash {action.name}", CRASHES):
        TALLY.points += 1
        with copy_of(source, f"{source}_crash") as name:
            run_in(name, action, kill_before=point, happens=server.crash)
            server.start()
            TALLY.crashes += 1
            judge(name, action, f"crash {action.name} {point}", before, wanted)
