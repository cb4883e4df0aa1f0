"""What every installation shares."""

from __future__ import annotations

import os
from datetime import timedelta
from typing import Any

import django_stubs_ext
from csp.constants import NONE, SELF

from bandops.env import ROOT, env
from bandops.settings import rooms

# The computations are small, and there are several processes: threads of the linear algebra of
# each would only wait for one another. It is read when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Generic forms and views may name their types at run time too.
django_stubs_ext.monkeypatch()

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "csp",
    "django_filters",
    "bandops.lib",
    *rooms.found(),
]
MIDDLEWARE = [
    "bandops.lib.operating.health.health",
    "bandops.lib.operating.metrics.measured",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "bandops.lib.web.headers.fixed_headers",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "roster.people.viewer.ViewerMiddleware",
    "bandops.lib.web.errors.keep_menu",
    "bandops.lib.web.read_only.refuse_writing",
]
ROOT_URLCONF = "bandops.urls"
WSGI_APPLICATION = "bandops.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [ROOT / "bandops" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.messages.context_processors.messages",
                "bandops.lib.web.context.page",
            ],
            "builtins": ["bandops.lib.templatetags.clock"],
        },
    }
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"
SQLITE_OPTIONS = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=NORMAL;",
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "lib.User"
AUTHENTICATION_BACKENDS = [
    "django.contrib.auth.backends.ModelBackend",
    "sesame.backends.ModelBackend",
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
# NIST SP 800-63B-4, 3.1.1.2: at least 15 characters, a block list, no composition rules.
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("name", "email")},
    },
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 15},
    },
    {"NAME": "bandops.lib.accounts.passwords.LengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "bandops.lib.accounts.passwords.GuessValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
SESAME_TOKENS = ["sesame.tokens_v2"]
SESAME_ONE_TIME = True
SESAME_INVALIDATE_ON_EMAIL_CHANGE = True
SESAME_MAX_AGE = timedelta(minutes=20)
INVITATION_MAX_AGE = timedelta(days=14)
SESSION_COOKIE_AGE = int(timedelta(days=30).total_seconds())
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"

LANGUAGE_CODE = "en-us"
USE_I18N = False
# The language's own formats go before those of settings: ours are a module that goes before both.
FORMAT_MODULE_PATH = ["bandops.formats"]
USE_TZ = True
TIME_ZONE = env.str("TIME_ZONE", "America/Chicago")

STATIC_URL = "static/"
STATICFILES_DIRS = [ROOT / "bandops" / "static"]
STATIC_ROOT = env.path("STATIC_ROOT", ROOT / "var" / "static")
MEDIA_ROOT = env.path("MEDIA_ROOT", ROOT / "var" / "media")
STORAGES = {
    "default": {"BACKEND": "bandops.lib.outbox.files.WholeFiles"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 10 * 1024 * 1024
# A set's table has two fields a place.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2_000
IMPORT_MAX_BYTES = 8 * 1024 * 1024
IMPORT_MAX_ROWS = 50_000

BEHIND_PROXY = False
"""whether a proxy of ours says whose request it is; without one anybody could claim an address"""
READ_ONLY = False
"""for looking at a backup; see ``looking``"""
PRACTICE = env.bool("PRACTICE", False)
"""a band to practise with: nothing is sent, and every page and print says so"""
METRICS_TOKEN = env.str("METRICS_TOKEN", "")
COOKIE_PREFIX = ""
EMAIL_TIMEOUT = 10
MAIL_IS_SHOWN = True
"""whether mail that cannot leave may show on the console, with the links in it"""

SITE_URL = env.str("SITE_URL", "http://127.0.0.1:8000")
DEFAULT_FROM_EMAIL = env.str("DEFAULT_FROM_EMAIL", "band@example.invalid")

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        "img-src": [SELF, "data:"],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
        "script-src": [SELF],
        "script-src-attr": [NONE],
        "style-src": [SELF],
        "style-src-attr": [NONE],
        "connect-src": [SELF],
        "worker-src": [SELF],
        "frame-src": [NONE],
        "form-action": [SELF],
        "object-src": [NONE],
    }
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "bandops.lib.api.access.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "EXCEPTION_HANDLER": "bandops.lib.api.problems.answer",
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_THROTTLE_RATES": {"solve": "20/min"},
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Bandops",
    "DESCRIPTION": "The band's season to read and, where said, to write. Lists come in pages: the "
    "next one is in the header Link, their length in Total-Count. Writes carry Idempotency-Key, "
    "changes If-Match. What goes wrong is said as application/problem+json (RFC 9457).",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "bandops.lib.api.description.local_times",
    ],
    "COMPONENT_SPLIT_REQUEST": True,
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
}

JOBS_RUN_IN = "thread"
"""thread: one thread of this process; inline: at once; celery: workers; later: the next sweep"""
JOB_LEASE = timedelta(minutes=5)
CELERY_BROKER_URL = env.str("CELERY_BROKER_URL", env.str("REDIS_URL", "redis://127.0.0.1:6379/0"))
CELERY_BEAT_SCHEDULE = {
    # One that no worker took in time is not done late: the next one does the same.
    "sweep": {"task": "bandops.sweep_jobs", "schedule": 60.0, "options": {"expires": 55}},
}
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_IGNORE_RESULT = True
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_BROKER_TRANSPORT_OPTIONS = {
    "visibility_timeout": 900,
    "unacked_restore_interval": 5,
    "unacked_restore_throttle": 1,
    # A broker that is down must not hold up a page: the sweep sends later.
    "max_retries": 1,
    "interval_start": 0,
    "socket_connect_timeout": 2,
}

SILENCED_SYSTEM_CHECKS: list[str] = []


def logging_as(formatter: str) -> dict[str, Any]:
    """Lines on the console, for people (plain) or for machines (json), without what is private."""
    told = "INFO" if formatter == "json" else "WARNING"
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "plain": {
                "()": "bandops.lib.operating.logs.PlainFormatter",
                "format": "%(levelname)s %(name)s: %(message)s",
            },
            "json": {"()": "bandops.lib.operating.logs.JsonFormatter"},
        },
        "handlers": {"console": {"class": "logging.StreamHandler", "formatter": formatter}},
        "root": {"handlers": ["console"], "level": "WARNING"},
        "loggers": {name: {"level": told} for name in ("bandops.security", "bandops.requests")},
    }


LOGGING = logging_as("plain")
