"""Typed reading of the environment: one place, and a loud failure for what is missing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from environs import Env

ROOT = Path(__file__).resolve().parent.parent
env = Env()


def mail_settings(otherwise: str = "console:") -> dict[str, Any]:
    """The mail server of EMAIL_URL as Django's settings; without one a console, where mail shows
    and does not leave, or what ``otherwise`` says. From a practice band none leaves."""
    found = env.dj_email_url("EMAIL_URL", otherwise)
    if env.bool("PRACTICE", False):
        found = {"EMAIL_BACKEND": "django.core.mail.backends.dummy.EmailBackend"}
    if "EMAIL_BACKEND" not in found:
        raise ValueError("EMAIL_URL names no way to send mail: it begins with submission:, smtp: …")
    return {name: value for name, value in found.items() if name.startswith("EMAIL_")}


LEAST_KEY = 50


def refuse_unsafe(key: str, hosts: list[str], site: str, database: str) -> None:
    """ValueError for settings that start and are not safe, all of them in one go."""
    wrong = []
    if len(key) < LEAST_KEY:
        wrong.append(f"SECRET_KEY is shorter than {LEAST_KEY} letters")
    if "*" in hosts or not hosts:
        wrong.append("ALLOWED_HOSTS names no host, or every one")
    if not site.startswith("https://") or site.endswith("/"):
        wrong.append("SITE_URL begins with https:// and ends without a /")
    if ":change-me@" in database:
        wrong.append("DATABASE_URL has the password of the example")
    if wrong:
        raise ValueError("Not safe to start: " + "; ".join(wrong) + ".")
