"""Each way of running passes Django's own checks and has all its migrations."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parents[2]
PRODUCTION = {
    "SECRET_KEY": "k3#v9-a-long-and-random-looking-key-of-more-than-fifty-letters-q8w2",
    "ALLOWED_HOSTS": "band.example",
    "DATABASE_URL": "postgres://nobody@127.0.0.1:1/none",
    "SITE_URL": "https://band.example",
    "DEFAULT_FROM_EMAIL": "band@band.example",
    "EMAIL_URL": "smtp://mail.example:25",
}


@pytest.mark.parametrize("name", ["local", "production"])
def test_the_settings_pass_djangos_checks(name: str, tmp_path: Path) -> None:
    environment = {
        **os.environ,
        **PRODUCTION,
        "DJANGO_SETTINGS_MODULE": f"bandops.settings.{name}",
        "BANDOPS_VAR": str(tmp_path),
    }
    environment.pop("DJANGO_ALLOW_ASYNC_UNSAFE", None)
    command = [sys.executable, "manage.py", "check", "--fail-level", "WARNING"]
    command += ["--deploy"] if name == "production" else []
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_production_refuses_to_start_without_its_secrets(tmp_path: Path) -> None:
    environment = {k: v for k, v in os.environ.items() if k not in PRODUCTION}
    environment["DJANGO_SETTINGS_MODULE"] = "bandops.settings.production"
    done = subprocess.run(
        [sys.executable, "manage.py", "check"],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
    )
    assert done.returncode != 0
    assert "SECRET_KEY" in done.stderr


@pytest.mark.postgres("migrations are applied to each")
@pytest.mark.django_db
def test_no_migration_is_missing() -> None:
    call_command("makemigrations", "--check", "--dry-run", verbosity=0)
