"""A backup to look at beside the site: nothing is written, mailed or started.

On the server itself, over http on 127.0.0.1; ``DATABASE_URL`` and ``MEDIA_ROOT`` name what
``restore.sh --beside`` made.
"""

from __future__ import annotations

from datetime import timedelta

from bandops.env import env
from bandops.settings.production import *
from bandops.settings.production import DATABASES, STORAGES

READ_ONLY = True
DATABASES["default"]["OPTIONS"] = DATABASES["default"].get("OPTIONS", {}) | {
    "options": "-c default_transaction_read_only=on"
}
SESSION_ENGINE = "django.contrib.sessions.backends.signed_cookies"
SESAME_ONE_TIME = False
SESAME_MAX_AGE = timedelta(hours=1)
JOBS_RUN_IN = "later"
EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"
CACHES = {"default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}}
SITE_URL = env.str("LOOK_AT", "http://127.0.0.1:8100")
ALLOWED_HOSTS = ["127.0.0.1", "localhost"]
CSRF_TRUSTED_ORIGINS = [SITE_URL]
SECURE_SSL_REDIRECT = False
SECURE_HSTS_SECONDS = 0
BEHIND_PROXY = False
COOKIE_PREFIX = "look-"
SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "look-sessionid", "look-csrftoken"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = False
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
WHITENOISE_USE_FINDERS = True
