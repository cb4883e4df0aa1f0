"""The first season and its director, on an empty database."""

from __future__ import annotations

import datetime
import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from bandops.lib.accounts.links import INVITATION, link_for
from bandops.lib.dates import OUT_OF_REACH, in_reach
from bandops.lib.zones import read_zone
from roster.people.enums import Role
from roster.people.models import Season
from roster.people.services.seasons import grant_role, start_season


class Command(BaseCommand):
    help = "Start the first season and name its director."

    def add_arguments(self, parser: ArgumentParser) -> None:
        year = datetime.date.today().year
        parser.add_argument("--band", required=True, help="name of the band")
        parser.add_argument("--email", required=True, help="the director's email address")
        parser.add_argument("--name", default="", help="the director's name")
        parser.add_argument("--season", default=str(year), help="name of the season")
        parser.add_argument("--starts", default=f"{year}-08-01", help="first day, YYYY-MM-DD")
        parser.add_argument("--ends", default=f"{year + 1}-01-31", help="last day, YYYY-MM-DD")
        parser.add_argument(
            "--time-zone", default="", help="such as America/Chicago; asked for when missing"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        if Season.objects.exists():
            raise CommandError("There is already a season; a director can change it on the site.")
        try:
            season = start_season(
                actor=None,
                name=options["season"],
                band_name=options["band"],
                starts=_day(options["starts"]),
                ends=_day(options["ends"]),
                time_zone=_zone(options["time_zone"]),
            )
            user = grant_role(
                actor=None,
                season=season,
                email=options["email"],
                name=options["name"],
                role=Role.DIRECTOR,
            )
        except ValidationError as error:
            raise CommandError("; ".join(error.messages)) from error
        self.stdout.write(
            f"Season {season} of {season.band_name} is ready, by the clock of {season.time_zone}."
        )
        self.stdout.write(
            f"The director signs in once with this link:\n{link_for(user, INVITATION)}"
        )


def _zone(text: str) -> str:
    """The zone that was given or is typed now; the server's where nobody can be asked."""
    if text:
        return read_zone(text)
    while sys.stdin.isatty():
        try:
            return read_zone(input("The band's time zone, such as America/Chicago: "))
        except ValidationError as error:
            sys.stdout.write(f"{error.message}\n")
    return settings.TIME_ZONE


def _day(text: str) -> datetime.date:
    try:
        day = datetime.date.fromisoformat(text)
    except ValueError:
        raise CommandError(f"“{text}” is not a date such as 2026-08-01.") from None
    if not in_reach(day):
        raise CommandError(f"“{text}”: {OUT_OF_REACH}")
    return day
