"""Start jobs again whose worker died or whose broker was down; throw old uploads away."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from bandops.lib.accounts import sessions
from bandops.lib.imports.models import ImportUpload
from bandops.lib.outbox.dispatch import start_job
from bandops.lib.outbox.running import waiting_jobs
from bandops.lib.sent.models import SentForm


class Command(BaseCommand):
    help = "Start waiting jobs again, throw old uploads away; run it every minute."

    def handle(self, *args: Any, **options: Any) -> None:
        ImportUpload.throw_away_old()
        SentForm.throw_away_old()
        sessions.throw_away_old()
        ids = waiting_jobs()
        for job_id in ids:
            start_job(job_id)
        self.stdout.write(f"{len(ids)} jobs started.")
