"""What whoever runs the site reads: health, figures, logs."""

from __future__ import annotations

import datetime
import json
import logging
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from prometheus_client.parser import text_string_to_metric_families

from bandops.lib.accounts.models import User
from bandops.lib.models import Job
from bandops.lib.operating import health
from bandops.lib.operating.logs import JsonFormatter, PlainFormatter, without_private
from tests.conftest import BACKEND
from tests.factories import Cast

TOKEN = "a token of the operator's"


@pytest.mark.django_db
def test_a_well_site_says_so_to_whoever_asks_on_the_machine(settings: Any) -> None:
    settings.ALLOWED_HOSTS = ["band.example"]
    settings.SECURE_SSL_REDIRECT = True
    asks = Client(headers={"Host": "10.0.0.7:8000"})
    assert asks.get("/health/live").content == b"ok"
    answer = asks.get("/health/ready/")
    assert answer.status_code == 200
    assert answer.json() == {"database": "ok", "migrations": "ok", "cache": "ok", "jobs": "ok"}


@pytest.mark.django_db
def test_without_a_database_it_is_alive_and_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    def down() -> str:
        raise DatabaseError("no server: password 12345")

    monkeypatch.setattr(health, "_migrations", down)
    answer = Client().get("/health/ready")
    assert (answer.status_code, answer.json()) == (503, {"database": "down"})
    assert Client().get("/health/live").status_code == 200


@pytest.mark.django_db
def test_what_only_delays_does_not_take_the_site_away(settings: Any) -> None:
    settings.CACHES = {
        "default": {
            "BACKEND": "django.core.cache.backends.redis.RedisCache",
            "LOCATION": "redis://127.0.0.1:1/0",
        }
    }
    Job.objects.create(key="old", kind="publishing.print")
    Job.objects.update(created_at=timezone.now() - datetime.timedelta(hours=1))
    answer = Client().get("/health/ready")
    assert answer.status_code == 200
    assert (answer.json()["cache"], answer.json()["jobs"]) == ("down", "late")


@pytest.mark.django_db
def test_a_missing_migration_is_not_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(health, "_migrated", set())
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM django_migrations WHERE app = 'lib' AND name LIKE '0005%'")
    answer = Client().get("/health/ready")
    assert (answer.status_code, answer.json()["migrations"]) == (503, "missing")


@pytest.mark.django_db
@pytest.mark.source("Prometheus text format, read by prometheus_client's own parser")
def test_figures_are_for_whoever_has_the_token(settings: Any, cast: Cast) -> None:
    assert Client().get("/health/metrics").status_code == 404, "no token, no figures"
    settings.METRICS_TOKEN = TOKEN
    assert Client(headers={"Authorization": "Bearer x"}).get("/health/metrics").status_code == 404
    Job.objects.create(key="one", kind="publishing.print")
    member = Client()
    member.force_login(cast.member, backend=BACKEND)
    member.get(reverse("card"))
    text = Client(headers={"Authorization": f"Bearer {TOKEN}"}).get("/health/metrics").content
    found = {
        (sample.name, *sorted(sample.labels.values())): sample.value
        for family in text_string_to_metric_families(text.decode())
        for sample in family.samples
    }
    assert found["bandops_jobs", "due"] == 1
    assert found["bandops_request_seconds_count", "2xx", "GET", "card"] >= 1
    assert found["bandops_changes",] > 0
    assert cast.member.email not in text.decode()


PRIVATE = ("ana@band.example", "n3wT0ken", "Larkspur", "s3cret")


@pytest.mark.parametrize(
    "text",
    [
        "SMTPRecipientsRefused({'ana@band.example': (550, b'no')})",
        "duplicate key\nDETAIL:  Key (email)=(ana@band.example) already exists. Larkspur",
        "Forbidden (CSRF token missing.): /link/invitation/n3wT0ken/",
        "Not Found: /calendar/n3wT0ken.ics",
        "GET /search/?q=Larkspur&page=2 took long",
        "Key (name)=(Larkspur) is not present",
    ],
)
def test_log_lines_hold_nothing_private(text: str) -> None:
    assert not [word for word in PRIVATE if word in without_private(text)]
    record = logging.LogRecord("django", logging.ERROR, "x.py", 1, "%s", (text,), None)
    for formatter in (JsonFormatter(), PlainFormatter("%(message)s")):
        assert not [word for word in PRIVATE if word in formatter.format(record)]


def test_a_line_is_one_object_with_its_trace() -> None:
    try:
        raise IntegrityError("DETAIL:  Key (email)=(ana@band.example)")
    except IntegrityError as error:
        info = (type(error), error, error.__traceback__)
    record = logging.LogRecord("django.request", logging.ERROR, "x.py", 1, "failed", (), info)
    line = json.loads(JsonFormatter().format(record))
    assert line["level"] == "error" and line["from"] == "django.request"
    assert "IntegrityError" in line["trace"] and "ana@" not in line["trace"]


@pytest.mark.django_db
def test_a_request_is_logged_by_its_page_and_nobody(
    cast: Cast, caplog: pytest.LogCaptureFixture
) -> None:
    member = Client()
    member.force_login(cast.member, backend=BACKEND)
    with caplog.at_level(logging.INFO, logger="bandops.requests"):
        member.get(reverse("card"), {"q": "Larkspur"})
        member.get("/calendar/n3wT0ken.ics")
    lines = [JsonFormatter().format(record) for record in caplog.records]
    assert any('"GET card"' in line and '"status_code": 200' in line for line in lines)
    names = (*PRIVATE, cast.member.email, User.objects.get(pk=cast.member.pk).name)
    assert not [word for line in lines for word in names if word in line]
