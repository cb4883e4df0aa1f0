"""Prints of a travel list."""

from __future__ import annotations

from bandops.lib.outbox.dispatch import add_job
from drill.events.models import TravelList


def group_of(it: TravelList) -> str:
    """The name that joins a list's jobs and files."""
    return f"travel:{it.pk}"


def print_key(it: TravelList) -> str:
    """What the keys of the newest posting's jobs and files begin with."""
    return f"{group_of(it)}:{it.posted_at.isoformat() if it.posted_at else 'draft'}:"


def add_print(it: TravelList, paper: str) -> None:
    """Queue one print of a posted list."""
    assert it.posted_at is not None
    add_job(
        key=f"{print_key(it)}{paper}",
        kind="travel.list",
        group=group_of(it),
        payload={"list": it.pk, "posted": it.posted_at.isoformat(), "paper": paper},
    )
