"""Figures for whoever watches the site, in the text format that scrapers read (OpenMetrics).

Requests are counted in each process; several share a folder (``PROMETHEUS_MULTIPROC_DIR``). What
the database knows is read when it is asked for.
"""

from __future__ import annotations

import logging
import os
import time
from collections.abc import Callable, Iterator

from django.conf import settings
from django.db.models import Max, Min, Sum
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.crypto import constant_time_compare
from prometheus_client import (
    REGISTRY,
    CollectorRegistry,
    Histogram,
    exposition,
    multiprocess,
)
from prometheus_client.core import GaugeMetricFamily

from bandops.lib.audit.models import AuditEntry
from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import MAX_ATTEMPTS

log = logging.getLogger("bandops.requests")
GetResponse = Callable[[HttpRequest], HttpResponse]
SECONDS = (0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)
PATH = "/health/metrics"
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")

answered = Histogram(
    "bandops_request_seconds",
    "Seconds until a request was answered, by page",
    ["page", "method", "status"],
    buckets=SECONDS,
)


def measured(get_response: GetResponse) -> GetResponse:
    """Counts and times each request, and writes a line of it that names a page and nobody."""

    def answer(request: HttpRequest) -> HttpResponse:
        start = time.perf_counter()
        response = get_response(request)
        seconds = time.perf_counter() - start
        match = request.resolver_match
        page = (match.url_name if match else None) or "none"
        method = request.method if request.method in METHODS else "other"
        answered.labels(page, method, f"{response.status_code // 100}xx").observe(seconds)
        log.info(
            "%s %s",
            method,
            page,
            extra={"status_code": response.status_code, "seconds": round(seconds, 4)},
        )
        return response

    return answer


def scraped(request: HttpRequest) -> HttpResponse:
    """All figures, for whoever has the token; without one there is nothing here."""
    token = settings.METRICS_TOKEN
    said = request.headers.get("Authorization", "").removeprefix("Bearer ")
    if not token or not constant_time_compare(said, token):
        return HttpResponse(status=404)
    registry = CollectorRegistry()
    registry.register(Database())
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        multiprocess.MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        own = b""
    else:
        own = exposition.generate_latest(REGISTRY)
    text = exposition.generate_latest(registry) + own
    return HttpResponse(text, content_type=exposition.CONTENT_TYPE_LATEST)


class Database:
    """What the tables say now."""

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """One gauge after the other."""
        jobs = GaugeMetricFamily("bandops_jobs", "Jobs not done yet, by state", labels=["state"])
        undone = Job.objects.filter(done_at=None)
        due = Job.objects.all().claimable().filter(attempts__lt=MAX_ATTEMPTS)
        running = undone.filter(lease_until__gt=timezone.now(), error="")
        jobs.add_metric(["due"], due.count())
        jobs.add_metric(["running"], running.count())
        jobs.add_metric(["given_up"], undone.filter(attempts__gte=MAX_ATTEMPTS).count())
        yield jobs
        oldest = due.aggregate(first=Min("created_at"))["first"]
        waits = (timezone.now() - oldest).total_seconds() if oldest else 0
        yield GaugeMetricFamily("bandops_oldest_job_seconds", "Age of the oldest due job", waits)
        newest = AuditEntry.objects.aggregate(last=Max("pk"))["last"]
        yield GaugeMetricFamily("bandops_changes", "Changes written so far", newest or 0)
        size = Artifact.objects.aggregate(all=Sum("size"))["all"]
        yield GaugeMetricFamily("bandops_print_bytes", "Bytes of kept prints", size or 0)
