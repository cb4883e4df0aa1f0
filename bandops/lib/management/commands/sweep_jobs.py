"""Start jobs again whose worker died or whose broker was down; throw away what is old."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from bandops.lib.outbox.sweeping import sweep


class Command(BaseCommand):
    help = "Start waiting jobs again, throw away what is old; beat does it every minute."

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(f"{sweep()} jobs started.")
