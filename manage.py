#!/usr/bin/env python
"""Command line of the project."""

import os
import sys


def main() -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "bandops.settings.local")
    from django.core.management import execute_from_command_line

    import bandops.celery  # noqa: F401  (tasks are sent through the configured app)

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
