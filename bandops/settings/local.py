"""One machine, SQLite, tasks in this process: for the demo and for a first look."""

from __future__ import annotations

import secrets

from bandops.env import ROOT, env, mail_settings
from bandops.settings.base import *
from bandops.settings.base import SQLITE_OPTIONS

VAR = ROOT / env.str("BANDOPS_VAR", "var")
VAR.mkdir(parents=True, exist_ok=True)


def _secret_key() -> str:
    """A key of this machine's own, made once."""
    path = VAR / "secret_key"
    if not path.exists():
        path.touch(mode=0o600)
        path.write_text(secrets.token_urlsafe(50))
    return path.read_text()


SECRET_KEY = env.str("SECRET_KEY", "") or _secret_key()
DEBUG = env.bool("DEBUG", False)
ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", ["127.0.0.1", "localhost", "[::1]"])
DATABASES = {
    "default": {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": VAR / "band.sqlite3",
        "OPTIONS": SQLITE_OPTIONS,
    }
}
MEDIA_ROOT = env.path("MEDIA_ROOT", VAR / "media")
globals().update(mail_settings())
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = True
STATIC_ROOT = VAR / "static"
STATIC_ROOT.mkdir(exist_ok=True)
