"""What the main pages cost against an empty page of the same server, with the demo band.

``python -m tests.bench.page_costs`` prints bytes (packed, as production sends them) and
milliseconds of each page, medians of several readings in one process; ``make bench`` has one line
for the bytes and one for the time.
"""

from __future__ import annotations

import gzip
import io
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any

from tests.bench.ratios import Ratio

if TYPE_CHECKING:
    from django.test import Client

ROOT = Path(__file__).resolve().parents[2]
READINGS = 7
EMPTY = ("an empty page", "director", "offline")
WEEK, OTHERS = 15.0, 10.0
"""at most so many times an empty page: this week, and the others"""
PAGES = (
    ("This week", "director", "week"),
    ("Who marches", "director", "lineup"),
    ("Backups", "director", "backups"),
    ("Game day", "director", "desk"),
    ("Marching record", "director", "record"),
    ("Members", "director", "people"),
    ("Absences", "director", "absences"),
    ("Shows", "director", "drill"),
    ("My rank", "thordis.von.ahrenfeld", "my-rank"),
    ("My spot", "bogdan.yarborough", "card"),
)


def page_ratios() -> Iterator[Ratio]:
    """The dearest page and This week, by bytes and by time; measured in a process of its own,
    which has the demo's database."""
    run = [sys.executable, "-m", "tests.bench.page_costs", "--json"]
    found = json.loads(subprocess.run(run, cwd=ROOT, check=True, capture_output=True).stdout)
    yield from _mark_out_ratios(found.pop())
    empty, pages = found[0], found[1:]
    for column, unit in (("bytes", "bytes"), ("ms", "ms")):
        for row, goal in ((_dearest(pages[1:], column), OTHERS), (pages[0], WEEK)):
            yield Ratio(
                f"page: {row['name']}, {column}",
                "an empty page of the same server",
                [value / median(empty[column]) for value in row[column]],
                goal,
                at_least=False,
                ours=median(row[column]),
                theirs=median(empty[column]),
                unit=unit,
            )


def _dearest(pages: list[dict[str, Any]], column: str) -> dict[str, Any]:
    return max(pages, key=lambda row: median(row[column]))


def measured() -> list[dict[str, Any]]:
    """Load the demo band, publish, and read each page; the empty page first."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DJANGO_SETTINGS_MODULE": "bandops.settings.local", "BANDOPS_VAR": folder}
        sys.path.append(str(ROOT / "fixtures"))
        import django

        django.setup()
        from django.core.management import call_command

        call_command("demo", "--no-serve", stdout=io.StringIO())
        return [*(_cost(*page) for page in (EMPTY, *PAGES)), _mark_out()]


def _cost(name: str, who: str, page: str) -> dict[str, Any]:
    from django.test import Client
    from django.urls import reverse

    from bandops.lib.accounts.models import User

    client = Client(headers={"host": "localhost"})
    client.force_login(User.objects.get(email__startswith=f"{who}@"))
    url = reverse(page, args=[_event_id()] if page == "lineup" else [])
    readings = [_read(client, url) for _ in range(READINGS + 1)][1:]
    return {
        "name": name,
        "bytes": [readings[-1][1]],
        "ms": [round(seconds * 1000, 1) for seconds, _ in readings],
    }


def _mark_out() -> dict[str, Any]:
    """Somebody is out until the page shows the new proposal, one member after the other; for
    every second one the solver alone, from the problem as rows."""
    from django.test import Client
    from django.urls import reverse

    from bandops.lib.accounts.models import User
    from drill.lineup import queries
    from drill.lineup.core.solver import solve
    from drill.lineup.services.problem_builder import build_to_show

    client, event = Client(headers={"host": "localhost"}), _next_event()
    client.force_login(User.objects.get(email__startswith="director@"))
    shown = queries.draft(event) or queries.published(event)
    assert shown is not None
    rows = queries.rows(shown).filter(member__isnull=False)
    members = list(dict.fromkeys(rows.values_list("member_id", flat=True)))[:: len(PAGES)]
    client.get(reverse("proposal", args=[event.pk]))
    pages, solver = [], []
    for number, member in enumerate(members):
        start = time.perf_counter()
        client.post(reverse("mark-out", args=[event.pk]), {"member": member, "kind": "out"})
        if number % 2:
            problem = build_to_show(event).to_come
            start = time.perf_counter()
            solve(problem)
            solver.append((time.perf_counter() - start) * 1000)
        else:
            _read(client, reverse("proposal", args=[event.pk]))
            pages.append((time.perf_counter() - start) * 1000)
    return {"name": "Mark out", "pages": pages, "solver": solver}


def _mark_out_ratios(found: dict[str, Any]) -> Iterator[Ratio]:
    for name, column, goal in (
        ("mark out to proposal, 210 spots: ours /", "pages", 150.0),
        ("the solver in it: ours /", "solver", 20.0),
    ):
        values = [ms / goal for ms in found[column]]
        ours = median(found[column])
        yield Ratio(name, f"{goal:g} ms", values, 1.0, False, ours, goal, unit="ms")


def _event_id() -> int:
    return int(_next_event().pk)


def _next_event() -> Any:
    from drill.events import queries
    from roster.people.models import Season

    event = queries.next_event(Season.objects.get())
    assert event is not None
    return event


def _read(client: Client, url: str) -> tuple[float, int]:
    start = time.perf_counter()
    page = client.get(url)
    seconds = time.perf_counter() - start
    assert page.status_code == 200, url
    return seconds, len(gzip.compress(page.content, 6))


def main() -> None:
    """The table, or JSON for the benchmark."""
    rows = measured()
    if "--json" in sys.argv:
        print(json.dumps(rows))
        return
    found = rows.pop()
    out, solver = (median(found[column]) for column in ("pages", "solver"))
    print(
        f"mark out until the new proposal is there {out:.0f} ms, the solver alone {solver:.1f} ms"
    )
    for row in rows:
        size, ms = (median(row[column]) for column in ("bytes", "ms"))
        bare = [median(rows[0][column]) for column in ("bytes", "ms")]
        times = f"{size / bare[0]:5.1f} x  {ms / bare[1]:5.1f} x"
        print(f"{row['name']:18} {size:8} bytes {ms:8.1f} ms  {times}")


if __name__ == "__main__":
    main()
