"""Whether the site is well: for a proxy, a container's watch, and whoever is called at night."""

from __future__ import annotations

import datetime
import logging
import uuid
from collections.abc import Callable

from django.core.cache import cache
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone

from bandops.lib.operating import metrics
from bandops.lib.outbox.models import Job
from bandops.lib.outbox.running import MAX_ATTEMPTS

log = logging.getLogger(__name__)
LIVE, READY = "/health/live", "/health/ready"
LATE = datetime.timedelta(minutes=10)
"""a job due for longer waits for workers that are not there"""
GetResponse = Callable[[HttpRequest], HttpResponse]


def health(get_response: GetResponse) -> GetResponse:
    """Answers before hosts, TLS and sessions are looked at: whoever asks is on this machine."""

    def answer(request: HttpRequest) -> HttpResponse:
        path = request.path.rstrip("/")
        if path == LIVE:
            return HttpResponse("ok", content_type="text/plain")
        if path == READY:
            return ready()
        if path == metrics.PATH:
            return metrics.scraped(request)
        return get_response(request)

    return answer


def ready() -> HttpResponse:
    """503 while no page could be shown; what only delays is said and does not count."""
    try:
        found = {"database": "ok", "migrations": _migrations()}
    except DatabaseError:
        log.exception("the database does not answer")
        return JsonResponse({"database": "down"}, status=503)
    well = found["migrations"] == "ok"
    found |= {"cache": _cache(), "jobs": _jobs() if well else "unknown"}
    return JsonResponse(found, status=200 if well else 503)


_migrated: set[str] = set()


def _migrations() -> str:
    """Read from the disk once; afterwards only that the database answers is asked."""
    if _migrated:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
        return "ok"
    executor = MigrationExecutor(connection)
    missing = executor.migration_plan(executor.loader.graph.leaf_nodes())
    if missing:
        return "missing"
    _migrated.add("yes")
    return "ok"


def _cache() -> str:
    key = f"health:{uuid.uuid4()}"
    try:
        cache.set(key, 1, 5)
        return "ok" if cache.get(key) == 1 else "down"
    except Exception:
        log.warning("the cache does not answer")
        return "down"


def _jobs() -> str:
    waiting = Job.objects.all().claimable().filter(attempts__lt=MAX_ATTEMPTS)
    return "late" if waiting.filter(created_at__lt=timezone.now() - LATE).exists() else "ok"
