"""Whatever the weekday, the demo opens days before its game's cut-off and on no other event."""

from __future__ import annotations

import csv
import datetime
import io

import pytest

from drill.demo.management.commands.load_demo import FOLDER, shifted, weeks_to_game_day

DAY = datetime.timedelta(days=1)
GAME = "Pellowick at home"
DAYS = [
    (datetime.date(2027, 3, 1), datetime.date(2027, 3, 6)),  # Monday
    (datetime.date(2027, 3, 2), datetime.date(2027, 3, 6)),
    (datetime.date(2027, 3, 3), datetime.date(2027, 3, 6)),  # Wednesday: three days are left
    (datetime.date(2027, 3, 4), datetime.date(2027, 3, 13)),
    (datetime.date(2027, 3, 5), datetime.date(2027, 3, 13)),
    (datetime.date(2027, 3, 6), datetime.date(2027, 3, 13)),  # Saturday: that day's is too late
    (datetime.date(2027, 3, 7), datetime.date(2027, 3, 13)),
    (datetime.date(2026, 10, 17), datetime.date(2026, 10, 24)),  # the files' own day
    (datetime.date(2026, 2, 26), datetime.date(2026, 3, 7)),  # before it
]


def event_rows(today: datetime.date) -> list[dict[str, str]]:
    """The rows of the events as the demo loads them on that day."""
    content = shifted((FOLDER / "events.csv").read_bytes(), weeks_to_game_day(today))
    return list(csv.DictReader(io.StringIO(content.decode(), newline="")))


@pytest.mark.parametrize(("today", "saturday"), DAYS, ids=str)
def test_the_next_performance_is_the_demo_game_with_time_before_its_cut_off(
    today: datetime.date, saturday: datetime.date
) -> None:
    rows = event_rows(today)
    coming = [row for row in rows if row["kind"] != "rehearsal" and row["date"] >= f"{today}"]
    first = min(coming, key=lambda row: row["date"])
    assert (first["event"], first["date"]) == (GAME, f"{saturday}")
    assert first["cut-off"] >= f"{today + 2 * DAY}T18:00"


@pytest.mark.parametrize("today", [today for today, _ in DAYS], ids=str)
def test_two_rehearsals_lie_behind_and_one_before_the_game(today: datetime.date) -> None:
    rows = event_rows(today)
    days = {row["date"] for row in rows if row["kind"] == "rehearsal"}
    game = next(row["date"] for row in rows if row["event"] == GAME)
    assert len([day for day in days if day < f"{today}"]) >= 2
    assert [day for day in days if f"{today}" <= day < game]
