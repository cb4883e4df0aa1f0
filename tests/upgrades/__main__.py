"""Keeps the database of a version: ``python -m tests.upgrades 0.2.0``, once, at its release."""

from __future__ import annotations

import os
import sys

import django
from django.conf import settings
from django.test.utils import setup_databases, teardown_databases


def main(version: str) -> None:
    """Write the small band, with a published lineup, as that version's tables hold it."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "bandops.settings.test")
    django.setup()
    made = setup_databases(0, interactive=False)
    try:
        from tests.upgrades.band import make_rows
        from tests.upgrades.kept import keep

        settings.JOBS_RUN_IN = "later"
        make_rows()
        print(f"kept in {keep(version)}")
    finally:
        teardown_databases(made, 0)


if __name__ == "__main__":
    main(sys.argv[1])
