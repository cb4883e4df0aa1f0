"""The invented demo band, through the imports a band would use."""

from __future__ import annotations

import csv
import datetime
import io
import re
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from bandops.env import ROOT
from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import accept, kind_of
from bandops.lib.imports.plan import match_headers
from bandops.lib.imports.reading import read_table
from roster.enums import Role
from roster.models import Season
from roster.services.seasons import grant_role, start_season

FOLDER = ROOT / "fixtures" / "demo"
GAME_DAY = datetime.date(2026, 10, 17)
FILES = (
    ("instruments", "instruments.csv"),
    ("members", "members.csv"),
    ("ranks", "ranks.csv"),
    ("alternates", "alternates.csv"),
    ("events", "events.csv"),
    ("absences", "absences.csv"),
    ("coordinates", "coordinates-tidewheel.csv"),
    ("coordinates", "coordinates-paper-lanterns.csv"),
    ("coordinates", "coordinates-northbound-mail.csv"),
    ("covers", "covers.csv"),
    ("practice", "practice.csv"),
)
DATE_COLUMNS = {"date", "cut-off", "from", "until", "review date", "cleared", "eligible"}
NAMED_DAY = re.compile(r"\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun) \d{1,2} [A-Z][a-z]{2}\b")
DIRECTOR = "director@quillwater.example"
STAFF = "staff@quillwater.example"
GEAR = "gear@quillwater.example"
EVALUATOR = "evaluator@quillwater.example"


class Command(BaseCommand):
    help = "Load the demo band; its game falls on the coming Saturday."

    def handle(self, *args: Any, **options: Any) -> None:
        if Season.objects.exists():
            raise CommandError("The database has a season already: the demo needs an empty one.")
        weeks = weeks_to_coming_saturday(timezone.localdate())
        season = start_season(
            actor=None,
            name=str(GAME_DAY.year),
            band_name="Quillwater College Marching Band",
            starts=datetime.date(2026, 8, 10) + weeks,
            ends=datetime.date(2026, 12, 20) + weeks,
            time_zone="America/Chicago",
        )
        director = self._roles(season)
        for kind, name in FILES:
            self._import(season, director, kind, name, weeks)

    def _roles(self, season: Season) -> User:
        people = (
            (DIRECTOR, "Imogen Castellanos-Wray", Role.DIRECTOR),
            (STAFF, "Tobiah Renfrew", Role.STAFF),
            (GEAR, "Marisol Quennell", Role.GEAR_MANAGER),
            (EVALUATOR, "Oduya Whitlock", Role.EVALUATOR),
        )
        users = [
            grant_role(actor=None, season=season, email=email, name=name, role=role)
            for email, name, role in people
        ]
        return users[0]

    def _import(
        self, season: Season, actor: User, kind_key: str, name: str, weeks: datetime.timedelta
    ) -> None:
        kind = kind_of(kind_key)
        table = read_table(name, shifted((FOLDER / name).read_bytes(), weeks))
        mapping = match_headers(table.headers, kind.columns)
        plan = kind.plan(table, mapping, season, actor)
        for fault in plan.faults[:10]:
            self.stderr.write(f"{name}, row {fault.row}, {fault.column}: {fault.message}")
        batch = accept(
            actor=actor, kind=kind, filename=name, table=table, mapping=mapping, season=season
        )
        self.stdout.write(f"  {Path(name).stem}: {batch.added} added")


def weeks_to_coming_saturday(today: datetime.date) -> datetime.timedelta:
    """Whole weeks from the files' game day to the next Saturday, today included."""
    return datetime.timedelta(days=-((GAME_DAY - today).days // 7) * 7)


def shifted(content: bytes, weeks: datetime.timedelta) -> bytes:
    """The CSV file with its dates moved."""
    rows = list(csv.DictReader(io.StringIO(content.decode("utf-8"), newline="")))
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, rows[0].keys())
    writer.writeheader()
    for row in rows:
        writer.writerow({k: _moved(k, v, weeks) for k, v in row.items()})
    return out.getvalue().encode()


def _moved(column: str, value: str, weeks: datetime.timedelta) -> str:
    if column == "event":
        return NAMED_DAY.sub(lambda match: _named(match[0], weeks), value)
    day = value.removeprefix("until ")
    if column not in DATE_COLUMNS or len(day) < 10 or not day[:4].isdigit():
        return value
    moved = datetime.date.fromisoformat(day[:10]) + weeks
    return value.replace(day[:10], moved.isoformat())


def _named(text: str, weeks: datetime.timedelta) -> str:
    """A day inside a name, such as 'Tue 13 Oct'."""
    day = datetime.datetime.strptime(f"{text} {GAME_DAY.year}", "%a %d %b %Y") + weeks
    return f"{day:%a} {day.day} {day:%b}"
