"""Web servers that share the tests' database, broker and files."""

from __future__ import annotations

from tests.worker.settings import *  # noqa: F403

INSTALLED_APPS = [app for app in INSTALLED_APPS if app != "tests.worker.KillPlan"]  # noqa: F405
SECRET_KEY = "tests only, never a secret"
