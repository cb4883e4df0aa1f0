"""The Celery application: workers run ``celery -A bandops.celery worker``."""

from celery import Celery

app = Celery("bandops")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.set_default()
app.autodiscover_tasks(["bandops.lib.outbox"])
