"""What is kept longer than the rules say, and letting it go."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from roster.people.services.retention import PERSON_YEARS, due, let_go
from roster.people.viewer import current_season


class Command(BaseCommand):
    help = "Say what is kept longer than the rules say; with --apply let it go."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--years", type=int, default=PERSON_YEARS, help="names after the last season"
        )
        parser.add_argument("--apply", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        season = current_season()
        if season is None:
            raise CommandError("There is no season yet.")
        today = season.today()
        if options["apply"]:
            done = let_go(actor=None, today=today, years=options["years"])
            self.stdout.write(
                f"Contacts of {done.contacts.count()} members removed, "
                f"{len(done.people)} people erased."
            )
            return
        found = due(today, options["years"])
        self.stdout.write(
            f"Due: contacts of {found.contacts.count()} members of seasons that ended over a year "
            f"ago; {len(found.people)} people whose last season ended over {options['years']} "
            "years ago. --apply removes and erases them; nothing brings them back."
        )
