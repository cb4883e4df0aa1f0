"""Typed reading of the environment: one place, and a loud failure for what is missing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from environs import Env

ROOT = Path(__file__).resolve().parent.parent
env = Env()


def mail_settings() -> dict[str, Any]:
    """The mail server of EMAIL_URL as Django's settings; without one a console, where mail shows
    and does not leave."""
    found = env.dj_email_url("EMAIL_URL", "console:")
    if "EMAIL_BACKEND" not in found:
        raise ValueError("EMAIL_URL names no way to send mail: it begins with submission:, smtp: …")
    return {name: value for name, value in found.items() if name.startswith("EMAIL_")}
