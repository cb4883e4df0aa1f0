"""Every form of every page: sent twice it counts once, and it overwrites nothing unseen."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from urllib.parse import urljoin

import pytest
from django.test import Client

from bandops.lib.audit.models import AuditEntry
from tests.architecture.access_table import TABLE, sliced
from tests.architecture.world import World, client_of, undone, url_of
from tests.factories import Cast
from tests.stories.hand import Form, PageReader

pytestmark = [pytest.mark.django_db, pytest.mark.walk]
TOLD = "This changed since you opened it"
LEAVES = {"sign-out"}


def written() -> int:
    return AuditEntry.objects.exclude(op=AuditEntry.Op.VIEW).count()


def pages(names: list[str], world: World, client: Client) -> Iterator[tuple[str, str]]:
    """Address and text of the pages that open."""
    for name in names:
        if TABLE[name].expected("staff", "GET") != "ok":
            continue
        url = url_of(name, world)
        response = client.get(url)
        if response.status_code == 200 and "text/html" in response["Content-Type"]:
            yield url, response.content.decode()


def forms_of(url: str, text: str) -> Iterator[tuple[str, Form, dict[str, str]]]:
    """Where each form goes, the form, and what each of its buttons sends."""
    for form in PageReader(text).forms:
        if form.method != "post":
            continue
        for name, value in dict.fromkeys(form.buttons.values()) or {("", ""): None}:
            yield urljoin(url, form.action), form, form.data | ({name: value} if name else {})


@pytest.mark.parametrize("names", sliced(3))
def test_what_is_sent_twice_counts_once(world: World, cast: Cast, names: list[str]) -> None:
    client = client_of(cast, "staff", enforce_csrf_checks=True)
    client.get("/sign-in/")
    cookies = client.cookies.copy()
    tried: set[tuple[Any, ...]] = set()
    twice, counted = [], 0
    for url, text in pages(names, world, client):
        for to, _, data in forms_of(url, text):
            kind = (to, *sorted(n for n in data if n != "csrfmiddlewaretoken"))
            if kind in tried or to.strip("/") in LEAVES:
                continue
            tried.add(kind)
            with undone():
                before = written()
                first = client.post(to, data)
                after = written()
                if first.status_code == 302 and after > before:
                    counted += 1
                    again = client.post(to, data)
                    if written() > after or again.status_code != 302:
                        twice.append(f"{to} from {url}: {again.status_code}")
            client.cookies = cookies.copy()  # type: ignore[assignment]
    assert not twice, "\n".join(twice)
    assert counted > 5, counted


EDITED = ("text", "number", "textarea", "time", "date", "email", "search", "tel")


def changed(value: str, kind: str, turn: int) -> str:
    """Another value of the kind that its field may well take."""
    if kind == "number" or value.isdigit():
        return str(int(float(value)) + turn)
    if kind == "time":
        return f"0{turn}:15"
    if kind == "date":
        return f"{value[:8]}1{turn}" if value else f"2026-10-1{turn}"
    return f"{value} {'abc'[turn]}".strip() if "@" not in value else f"{'abc'[turn]}{value}"


def edits(form: Form) -> Iterator[str]:
    """The fields of a form that one types in and that hold something."""
    for name, kind in form.kinds.items():
        if kind in EDITED and form.data[name] and not name.endswith("_FORMS"):
            yield name


@pytest.mark.parametrize("names", sliced(3))
def test_nothing_is_overwritten_unseen(world: World, cast: Cast, names: list[str]) -> None:
    first, second = client_of(cast, "staff"), client_of(cast, "director")
    tried: set[tuple[Any, ...]] = set()
    silent: list[str] = []
    told = 0
    for url, text in pages(names, world, first):
        for to, form, data in forms_of(url, text):
            for name in edits(form):
                kind = (to, name, *sorted(form.data))
                if kind in tried:
                    continue
                tried.add(kind)
                mine, theirs = (changed(data[name], form.kinds[name], turn) for turn in (1, 2))
                with undone():
                    before = written()
                    if second.post(to, data | {name: theirs}).status_code != 302:
                        continue
                    between = written()
                    answer = first.post(to, data | {name: mine})
                    if TOLD in answer.content.decode() or between == before:
                        told += 1
                        continue
                    if written() > between and overwritten(between):
                        silent.append(f"{to} from {url}: {name}")
    assert not silent, "\n".join(silent)
    assert told > 5, told


def overwritten(count: int) -> bool:
    """Whether what was written last changed a row that the writing before it had changed."""
    rows = list(AuditEntry.objects.exclude(op=AuditEntry.Op.VIEW).order_by("id"))
    last = {(e.table, e.row_id) for e in rows[count:] if e.op == AuditEntry.Op.UPDATE}
    batch = rows[count - 1].batch
    first: dict[tuple[str, str], Any] = {}
    left: dict[tuple[str, str], Any] = {}
    for entry in rows[:count]:
        if entry.batch == batch:
            first.setdefault((entry.table, entry.row_id), entry.before)
            left[entry.table, entry.row_id] = entry.after
    return bool(last & {row for row in left if left[row] != first[row]})
