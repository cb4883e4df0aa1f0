"""For the tests: SQLite in a file, or the PostgreSQL that DATABASE_URL names."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import dj_database_url

from bandops.env import ROOT, env
from bandops.settings.base import *
from bandops.settings.base import SQLITE_OPTIONS

SECRET_KEY = "tests only, never a secret"  # noqa: S105
DEBUG = False
ALLOWED_HOSTS = ["*"]
DATABASES = {"default": dj_database_url.parse(env.str("DATABASE_URL", "") or "sqlite://:memory:")}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    start = f"{SQLITE_OPTIONS['init_command']}PRAGMA synchronous=OFF;"
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS | {"init_command": start}
    # In memory all threads of a server would share one connection, and lock each other out.
    own_file = Path(tempfile.gettempdir()) / f"bandops-tests-{os.getpid()}.sqlite3"
    DATABASES["default"]["TEST"] = {"NAME": str(own_file)}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
JOBS_RUN_IN = "inline"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
MEDIA_ROOT = ROOT / "var" / "test-media"
WHITENOISE_USE_FINDERS = True
