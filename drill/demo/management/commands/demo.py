"""The whole week on one machine: load, solve, publish, print, and serve the site."""

from __future__ import annotations

import os
import sys
import time
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from bandops.env import ROOT
from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import weekday_words
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import run_job, waiting_jobs
from bandops.lib.pdf.render import NO_PRINTS, can_print
from drill.demo.management.commands.load_demo import DIRECTOR, EQUIPMENT, EVALUATOR, STAFF
from drill.demo.services.past import make_past
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.lineup.sheets import sheets
from drill.publishing.services.print_jobs import add_print_jobs, group_of
from drill.publishing.services.publishing import publish_lineup
from roster.people.models import Season
from roster.ranks.models import Rank

PASSWORD = "lanterns over the river"  # noqa: S105 (of the demo, printed for everybody)


class Command(BaseCommand):
    help = "Make the demo band's week ready and serve the site."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--no-serve", action="store_true", help="stop after printing")
        parser.add_argument("--port", default=os.environ.get("PORT", "8000"))

    def handle(self, *args: Any, **options: Any) -> None:
        if settings.BEHIND_PROXY:
            raise CommandError("The demo's password is public: it is not for a band's own site.")
        start = time.monotonic()
        settings.JOBS_RUN_IN = "later"
        settings.EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
        call_command("migrate", verbosity=0)
        if not Season.objects.exists():
            self.stdout.write("Loading the demo band:")
            call_command("load_demo", stdout=self.stdout, stderr=self.stderr)
        season = Season.objects.get(is_current=True)
        director = User.objects.get(email=DIRECTOR)
        if not Lineup.objects.filter(event__season=season).exists():
            made = make_past(director, season)
            self.stdout.write(f"Performed so far: {made}, each with its lineup and its record.")
        event = event_queries.next_event(season)
        if event is None:
            self.stderr.write("The season has no event.")
            return
        event.season = season
        lineup = lineup_queries.published(event) or self._publish(director, event)
        self._print(lineup)
        self._accounts(season, options["port"])
        self.stdout.write(f"Ready in {time.monotonic() - start:.0f} s.")
        if not options["no_serve"]:
            self._serve(options["port"])

    def _publish(self, director: User, event: Event) -> Lineup:
        draft = open_draft(actor=director, event=event)
        proven = "proven best" if draft.certificate else "best found"
        self.stdout.write(f"Solved {event}, {weekday_words(event.date)}: {proven}.")
        return publish_lineup(
            actor=director, event=event, seen_version=draft.version, seen_number=None
        )

    def _print(self, lineup: Lineup) -> None:
        with recorded(lineup.published_by, "ask for prints"):
            for paper in ("letter", "a4"):
                add_print_jobs(lineup, paper)
        self._run_jobs()
        laid_out = sheets(lineup)
        self.stdout.write(
            f"Published revision {lineup.number}: {lineup.rows.count()} seats, "
            f"{len(laid_out.stand_in_spots)} spots with stand-ins, "
            f"{len(laid_out.hole_spots)} open, {len(laid_out.doubtful_spots)} marching doubtful."
        )
        without = "Prints: none, the PDF libraries are missing (“make doctor” names them)."
        self.stdout.write("Prints:" if can_print() else without)
        for artifact in Artifact.objects.filter(group=group_of(lineup)):
            self.stdout.write(f"  {artifact.title}: {artifact.file.path}")
        failed = Job.objects.filter(group=group_of(lineup), done_at=None)
        for job in failed.exclude(error__in=("", NO_PRINTS)):
            self.stdout.write(f"  not made: {job.error}")

    def _run_jobs(self) -> None:
        """Where no prints can be made, theirs wait for a machine that can, and say so."""
        jobs = Job.objects.filter(pk__in=waiting_jobs())
        if not can_print():
            jobs.filter(kind="publishing.print").update(error=NO_PRINTS)
            jobs = jobs.exclude(kind="publishing.print")
        for job_id in list(jobs.values_list("pk", flat=True)):
            run_job(job_id)

    def _accounts(self, season: Season, port: str) -> None:
        rank = Rank.objects.filter(season=season, leader__isnull=False).first()
        people = [("director", DIRECTOR), ("staff", STAFF), ("equipment manager", EQUIPMENT)]
        people.append(("evaluator", EVALUATOR))
        if rank is not None and rank.leader is not None:
            people.append((f"leader of {rank}", self._member_account(rank.leader.person)))
            spot = rank.spots.exclude(
                holdings__member__in=[rank.leader_id, rank.assistant_leader_id]
            ).first()
            holding = spot.holdings.filter(ends=None).first() if spot else None
            if holding is not None:
                people.append(("member", self._member_account(holding.member.person)))
        self.stdout.write(f"Sign in at http://127.0.0.1:{port}/ with the password “{PASSWORD}”:")
        for role, email in people:
            user = User.objects.get(email=email)
            if not user.check_password(PASSWORD):
                user.set_password(PASSWORD)
                user.save()
            self.stdout.write(f"  {role}: {email}")

    def _member_account(self, person: Any) -> str:
        if person.user is None:
            person.user = User.objects.create_user(person.email, person.name)
            person.save()
        return str(person.user.email)

    def _serve(self, port: str) -> None:
        self.stdout.write(f"Serving http://127.0.0.1:{port}/ until Ctrl-C.")
        self.stdout.flush()
        program = [sys.executable, "-m", "gunicorn", "bandops.wsgi", "--bind", f"127.0.0.1:{port}"]
        program += ["--workers", "1", "--threads", "4", "--log-level", "warning"]
        program += ["--chdir", str(ROOT)]
        os.execv(sys.executable, program)  # noqa: S606 (our own interpreter, no shell)
