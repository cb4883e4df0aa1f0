"""What the main pages cost against an empty page of the same server, with the demo band.

``python -m tests.bench.page_costs`` prints bytes and milliseconds of each page, medians of
several readings in one process; ``make bench`` has one line for the bytes and one for the time.
"""

from __future__ import annotations

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
    empty, pages = found[0], found[1:]
    for column, unit in (("bytes", "bytes"), ("ms", "ms")):
        for row, goal in ((_dearest(pages[1:], column), OTHERS), (pages[0], WEEK)):
            yield Ratio(
                f"page: {row['name']}, {column}",
                "an empty page of the same server",
                row[column] / empty[column],
                goal,
                at_least=False,
                ours=row[column],
                theirs=empty[column],
                seeds=1,
                unit=unit,
            )


def _dearest(pages: list[dict[str, Any]], column: str) -> dict[str, Any]:
    return max(pages, key=lambda row: row[column])


def measured() -> list[dict[str, Any]]:
    """Load the demo band, publish, and read each page; the empty page first."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ |= {"DJANGO_SETTINGS_MODULE": "bandops.settings.local", "BANDOPS_VAR": folder}
        sys.path.append(str(ROOT / "fixtures"))
        import django

        django.setup()
        from django.core.management import call_command

        call_command("demo", "--no-serve", stdout=io.StringIO())
        return [_cost(*page) for page in (EMPTY, *PAGES)]


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
        "bytes": readings[-1][1],
        "ms": round(median(seconds for seconds, _ in readings) * 1000, 1),
    }


def _event_id() -> int:
    from drill.events import queries
    from roster.people.models import Season

    event = queries.next_event(Season.objects.get())
    assert event is not None
    return event.pk


def _read(client: Client, url: str) -> tuple[float, int]:
    start = time.perf_counter()
    page = client.get(url)
    seconds = time.perf_counter() - start
    assert page.status_code == 200, url
    return seconds, len(page.content)


def main() -> None:
    """The table, or JSON for the benchmark."""
    rows = measured()
    if "--json" in sys.argv:
        print(json.dumps(rows))
        return
    for row in rows:
        times = f"{row['bytes'] / rows[0]['bytes']:5.1f} x  {row['ms'] / rows[0]['ms']:5.1f} x"
        print(f"{row['name']:18} {row['bytes']:8} bytes {row['ms']:8.1f} ms  {times}")


if __name__ == "__main__":
    main()
