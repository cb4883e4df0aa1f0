"""Looking changes nothing: no page that is only read writes a row, except that it was looked at."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from tests.architecture.access_table import sliced
from tests.architecture.world import World, client_of, undone, url_of
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.walk]
WRITES = re.compile(
    r'\s*(?:INSERT(?: OR \w+)? INTO|UPDATE|DELETE FROM|REPLACE INTO)\s+"?(\w+)', re.I
)
LOOKS = {AuditEntry._meta.db_table}
"""where a look at something private is noted"""
SESSIONS = {"django_session"}
SEEN = {"card": {"publishing_notice"}, "card-of": {"publishing_notice"}}
"""pages whose being read is what they note: a notice counts as seen by whom it is for"""
TRIED = {"people-merge"}
"""shows what merging would do by doing it in a transaction that is given up"""


class Writes:
    """The tables that statements wrote to."""

    def __init__(self) -> None:
        self.tables: set[str] = set()

    def __call__(self, run: Callable[..., Any], sql: str, *rest: Any) -> Any:
        if found := WRITES.match(sql):
            self.tables.add(found[1])
        return run(sql, *rest)


def written_by(client: Client, url: str) -> tuple[set[str], int]:
    """The tables a GET wrote to, and how many entries of the audit are no looks."""
    writes, kept = Writes(), AuditEntry.objects.exclude(op=AuditEntry.Op.VIEW)
    before = kept.count()
    with connection.execute_wrapper(writes):
        client.get(url)
    return writes.tables - LOOKS - SESSIONS, kept.count() - before


@pytest.mark.parametrize("names", sliced(2))
@pytest.mark.parametrize("role", ["director", "leader", "member"])
def test_no_page_writes_when_it_is_read(
    world: World, cast: Cast, role: str, names: list[str]
) -> None:
    client, wrong = client_of(cast, role), []
    cookies = client.cookies.copy()
    for name in names:
        client.cookies = cookies.copy()  # type: ignore[assignment]
        with undone():
            tables, changed = written_by(client, url_of(name, world))
        unkept = tables if name in TRIED else SEEN.get(name, set())
        if tables - unkept or (changed and name not in SEEN):
            wrong.append(f"{name}: wrote to {sorted(tables)}, {changed} rows changed")
    assert not wrong, "\n".join(wrong)


def test_the_walk_would_notice_a_write(band: Band, cast: Cast) -> None:
    writes = Writes()
    with connection.execute_wrapper(writes):
        open_draft(actor=cast.staff, event=band.event)
    assert {"lineup_lineup", "lineup_lineuprow"} <= writes.tables


def test_looking_at_an_unmade_lineup_makes_none(band: Band, cast: Cast) -> None:
    director = client_of(cast, "director")
    url = reverse("lineup", args=[band.event.pk])
    page = director.get(url).content.decode()
    seat = reverse("seat", args=[band.event.pk, band.halftime.pk, band.spots["1-3"].pk])
    assert "No lineup yet" in page
    assert written_by(director, seat) == (set(), 0) and written_by(director, url) == (set(), 0)
    told = director.get(seat, follow=True).content.decode()
    assert "No lineup for" in told and not Lineup.objects.exists()
    made = director.post(reverse("make-lineup", args=[band.event.pk]), follow=True)
    assert made.redirect_chain[-1][0] == url and Lineup.objects.get().rows.exists()
    assert director.get(seat).status_code == 200
