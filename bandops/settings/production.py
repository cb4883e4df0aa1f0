"""PostgreSQL, a broker and workers behind TLS; every variable is explained in deploy/."""

from __future__ import annotations

import dj_database_url

from bandops.env import env, mail_settings, refuse_unsafe
from bandops.settings.base import *
from bandops.settings.base import STORAGES, logging_as

SECRET_KEY = env.str("SECRET_KEY")
SECRET_KEY_FALLBACKS: list[str] = env.list("SECRET_KEY_FALLBACKS", [])
DEBUG = False
ALLOWED_HOSTS: list[str] = env.list("ALLOWED_HOSTS")
DATABASES = {
    "default": dj_database_url.parse(
        env.str("DATABASE_URL"), conn_max_age=60, conn_health_checks=True
    )
}
SITE_URL = env.str("SITE_URL")
refuse_unsafe(SECRET_KEY, ALLOWED_HOSTS, SITE_URL, env.str("DATABASE_URL"))
CSRF_TRUSTED_ORIGINS = [SITE_URL]
JOBS_RUN_IN = "celery"
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.redis.RedisCache",
        "LOCATION": env.str("REDIS_URL", "redis://127.0.0.1:6379/1"),
    }
}
# A link that signs somebody in does not belong in a log.
MAIL_IS_SHOWN = False
globals().update(mail_settings("dummy:"))
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL")
SERVER_EMAIL = DEFAULT_FROM_EMAIL
STORAGES["staticfiles"] = {
    "BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage",
}
SECURE_SSL_REDIRECT = env.bool("SECURE_SSL_REDIRECT", True)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_HSTS_SECONDS = 31_536_000
SECURE_HSTS_INCLUDE_SUBDOMAINS = env.bool("SECURE_HSTS_INCLUDE_SUBDOMAINS", True)
# Whether browsers' own lists join in is for whoever owns the name.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]
# The prefix keeps other sites of the same domain from planting one.
COOKIE_PREFIX = "__Host-"
SESSION_COOKIE_NAME = "__Host-sessionid"
CSRF_COOKIE_NAME = "__Host-csrftoken"
SESSION_COOKIE_SECURE = True
CSRF_COOKIE_SECURE = True
BEHIND_PROXY = True
LOGGING = logging_as("json")
