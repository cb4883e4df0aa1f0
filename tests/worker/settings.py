"""The worker's side of the worker tests: the tests' database and files, a real broker."""

from __future__ import annotations

import datetime

from bandops.env import env
from bandops.settings.base import CELERY_BROKER_TRANSPORT_OPTIONS
from bandops.settings.test import *  # noqa: F403

INSTALLED_APPS = [*INSTALLED_APPS, "tests.worker.KillPlan"]  # noqa: F405
MEDIA_ROOT = env.path("MEDIA_ROOT")
EMAIL_BACKEND = "tests.worker.taken.EmailBackend"
EMAIL_FILE_PATH = env.path("MAIL_FOLDER")
JOBS_RUN_IN = "celery"
JOB_LEASE = datetime.timedelta(seconds=2)
CELERY_TASK_DEFAULT_QUEUE = env.str("QUEUE")
CELERY_BROKER_TRANSPORT_OPTIONS = {**CELERY_BROKER_TRANSPORT_OPTIONS, "visibility_timeout": 6}
