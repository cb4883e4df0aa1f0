"""For the tests: SQLite in memory, or the PostgreSQL that DATABASE_URL names."""

from __future__ import annotations

import dj_database_url

from bandops.env import ROOT, env
from bandops.settings.base import *
from bandops.settings.base import SQLITE_OPTIONS

SECRET_KEY = "tests only, never a secret"  # noqa: S105
DEBUG = False
ALLOWED_HOSTS = ["*"]
DATABASES = {"default": dj_database_url.parse(env.str("DATABASE_URL", "") or "sqlite://:memory:")}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["OPTIONS"] = dict(SQLITE_OPTIONS)
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
JOBS_RUN_IN = "inline"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
MEDIA_ROOT = ROOT / "var" / "test-media"
WHITENOISE_USE_FINDERS = True
