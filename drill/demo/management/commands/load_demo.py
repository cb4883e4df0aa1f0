"""The invented demo band, through the imports a band would use."""

from __future__ import annotations

import csv
import datetime
import io
import re
import uuid
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from bandops.env import ROOT
from bandops.lib.accounts.models import User
from bandops.lib.dates import weekday_words
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.kinds import accept, kind_of
from drill.demo.services import equipment as demo_equipment
from drill.demo.services import music as demo_music
from drill.demo.services import tryout as demo_tryout
from drill.events.models import Event
from drill.field import queries as field_queries
from drill.field.core.field import UNITS_PER_INCH
from drill.fundamentals.services.examples import add_offered
from drill.rehearsals import queries as rehearsal_queries
from drill.rehearsals.models import RehearsalBlock
from drill.rehearsals.services.attendance import attendance_of
from drill.rehearsals.services.attendance_notes import note_attendance, note_rest_here
from drill.rehearsals.services.practice import log_practice, sets_of
from drill.rehearsals.services.rehearsals import save_block
from drill.shows.models import Show, StepLimit
from drill.shows.services.move_checks import save_move_settings, save_step_limit
from roster.people.enums import Role
from roster.people.models import Instrument, Season
from roster.people.services.seasons import grant_role, start_season
from roster.ranks.models import AlternatePlace, Rank, Spot

FOLDER = ROOT / "fixtures" / "demo"
GAME_DAY = datetime.date(2026, 10, 17)
DAYS_LEFT = datetime.timedelta(days=3)  # the cut-off is the evening before the game
FILES = (
    ("instruments", "instruments.csv"),
    ("members", "members.csv"),
    ("ranks", "ranks.csv"),
    ("alternates", "alternates.csv"),
    ("events", "events.csv"),
    ("absences", "absences.csv"),
    ("coordinates", "coordinates-tidewheel.csv"),
    ("coordinates", "coordinates-sixty-lamps-afloat.csv"),
    ("coordinates", "coordinates-northbound-mail.csv"),
    ("backups", "backups.csv"),
    ("practice", "practice.csv"),
)
BLOCKS = (
    (datetime.time(16, 15), datetime.time(16, 30), "Warm-up and water", "", ""),
    (datetime.time(16, 30), datetime.time(17, 10), "Pregame in full", "", "Northbound Mail"),
    (datetime.time(17, 15), datetime.time(17, 50), "Woodwind sectionals", "Mill Lane shed", ""),
    (datetime.time(17, 15), datetime.time(17, 50), "Brass sectionals", "Car park east", ""),
    (datetime.time(17, 55), datetime.time(18, 30), "Halftime in full", "", "Tidewheel"),
)
REHEARSALS_NOTED, ALTERNATES_LOGGED, SETS_LOGGED = 2, 8, 4
EXAMPLES = ("four-corners-about", "two-step-quarter-left", "two-step-quarter-right")
DATE_COLUMNS = {"date", "cut-off", "from", "until", "review date", "cleared", "eligible"}
NAMED_DAY = re.compile(r"\b(?:Mon|Tue|Wed|Thu|Fri|Sat|Sun), [A-Z][a-z]{2} \d{1,2}\b")
ZONE = "America/Chicago"
DIRECTOR = "director@quillwater.example"
STAFF = "staff@quillwater.example"
EQUIPMENT = "equipment@quillwater.example"
EVALUATOR = "evaluator@quillwater.example"


class Command(BaseCommand):
    help = "Load the demo band; its game falls on a Saturday at least three days away."

    def handle(self, *args: Any, **options: Any) -> None:
        if Season.objects.exists():
            raise CommandError("The database has a season already: the demo needs an empty one.")
        weeks = weeks_to_game_day(timezone.localdate(timezone=ZoneInfo(ZONE)))
        season = start_season(
            actor=None,
            name=str(GAME_DAY.year),
            band_name="Quillwater College Marching Band",
            starts=datetime.date(2026, 8, 10) + weeks,
            ends=datetime.date(2026, 12, 20) + weeks,
            time_zone=ZONE,
        )
        director = self._roles(season)
        for kind, name in FILES:
            self._import(season, director, kind, name, weeks)
        for code in EXAMPLES:
            add_offered(actor=director, season=season, code=code)
        self._step_limits(season, director)
        self._tryout(season, director, weeks)
        self._rehearsals(season, director, User.objects.get(email=STAFF))
        self.stdout.write(f"  music heard: {demo_music.hear(director, season)}")
        self.stdout.write(f"  equipment: {demo_equipment.stock(director, season)} items")

    def _tryout(self, season: Season, actor: User, weeks: datetime.timedelta) -> None:
        """Tryout week as it stood before the decision."""
        tryout = demo_tryout.set_up(actor, season)
        self._import(season, actor, "candidates", "candidates.csv", weeks)
        self.stdout.write(f"  tryout: {demo_tryout.judge(actor, tryout)} marks")

    def _step_limits(self, season: Season, actor: User) -> None:
        """The file's row without an instrument is for everybody."""
        instruments = {i.name: i for i in Instrument.objects.filter(season=season)}
        gap = field_queries.drill_settings(season).closest_gap
        with (FOLDER / "step-limits.csv").open(encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
        for row in rows:
            largest = int(row["largest step"]) * UNITS_PER_INCH
            if not row["instrument"]:
                save_move_settings(
                    actor=actor, season=season, largest_step=largest, closest_gap=gap
                )
                continue
            instrument = instruments[row["instrument"]]
            limit = StepLimit(season=season, instrument=instrument, largest_step=largest)
            save_step_limit(actor=actor, limit=limit)
        self.stdout.write(f"  step limits: {len(rows)}")

    def _rehearsals(self, season: Season, director: User, staff: User) -> None:
        """Blocks for all, attendance and practice for those just past."""
        shows = {show.name: show for show in Show.objects.filter(season=season)}
        rehearsals = list(rehearsal_queries.rehearsals(season))
        for event in rehearsals:
            for starts, ends, what, where, show in BLOCKS:
                block = RehearsalBlock(event=event, starts=starts, ends=ends, what=what)
                block.where, block.show = where, shows.get(show)
                save_block(actor=director, block=block)
        past = [event for event in rehearsals if event.date < season.today()]
        for event in past[-REHEARSALS_NOTED:]:
            event.season = season
            self._attendance(season, event, staff, director)
        if past:
            self._practice(past[-1], shows["Tidewheel"], staff)
        self.stdout.write(f"  rehearsals: {len(rehearsals)} with blocks")

    def _attendance(self, season: Season, event: Event, staff: User, director: User) -> None:
        """In each rank somebody is late or missing; two people disagree about one of them."""
        at = event.local(datetime.time(16, 32))
        for number, rank in enumerate(Rank.objects.filter(season=season)):
            [sheet] = attendance_of(event, [rank])
            if not sheet.rest:
                continue
            member = sheet.rest[(number + event.date.day) % len(sheet.rest)].member
            notes = [(staff, "absent" if number % 3 == 0 else "late", 0)]
            notes += [(director, "late", 6)] if number % 9 == 3 else []
            for actor, state, minutes in notes:
                note_attendance(
                    actor=actor,
                    event=event,
                    member=member,
                    state=state,
                    key=uuid.uuid4(),
                    noted_at=at + datetime.timedelta(minutes=minutes),
                )
            note_rest_here(actor=staff, event=event, rank=rank, key=uuid.uuid4(), noted_at=at)

    def _practice(self, event: Event, show: Show, actor: User) -> None:
        """Some alternates worked on a spot beyond those they had practised before."""
        first, *_, last = (one.pk for one in sets_of({show.pk})[show.pk][:SETS_LOGGED])
        for place in AlternatePlace.objects.filter(rank__season=event.season)[:ALTERNATES_LOGGED]:
            spots = Spot.objects.filter(rank=place.rank, part=place.part)
            spot = spots.exclude(practice__member=place.member).last()
            if spot is not None:
                log_practice(
                    actor=actor,
                    event=event,
                    member=place.member,
                    spot=spot,
                    show=show,
                    first_set=first,
                    last_set=last,
                    key=uuid.uuid4(),
                    noted_at=event.local(datetime.time(18, 30)),
                )

    def _roles(self, season: Season) -> User:
        people = (
            (DIRECTOR, "Imogen Castellanos-Wray", Role.DIRECTOR),
            (STAFF, "Tobiah Renfrew", Role.STAFF),
            (EQUIPMENT, "Marisol Quennell", Role.EQUIPMENT_MANAGER),
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
        table = kind.read(name, shifted((FOLDER / name).read_bytes(), weeks))
        mapping = match_headers(table.headers, kind.columns)
        plan = kind.plan(table, mapping, season, actor)
        for fault in plan.faults[:10]:
            self.stderr.write(f"{name}, row {fault.row}, {fault.column}: {fault.message}")
        batch = accept(
            actor=actor, kind=kind, filename=name, table=table, mapping=mapping, season=season
        )
        self.stdout.write(f"  {Path(name).stem}: {batch.added} added")


def weeks_to_game_day(today: datetime.date) -> datetime.timedelta:
    """Whole weeks from the files' game day to the next Saturday with ``DAYS_LEFT`` before it."""
    earliest = today + DAYS_LEFT
    return datetime.timedelta(weeks=-((GAME_DAY - earliest).days // 7))


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
    """A day inside a name, such as 'Tue, Oct 13'."""
    day = datetime.datetime.strptime(f"{text} {GAME_DAY.year}", "%a, %b %d %Y") + weeks
    return weekday_words(day)
