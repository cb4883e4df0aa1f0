"""What is cut off in these tests: sent forms, and a worker's hour."""

from __future__ import annotations

import os
import random
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.imports.models import ImportUpload
from bandops.lib.outbox.running import run_job, waiting_jobs
from drill.lineup import queries as lineup_queries
from drill.lineup.services.lineups import take_proposal
from roster.equipment.models import Item
from roster.people.models import Member
from roster.tryouts.models import Tryout
from tests.architecture.world import World, make_world
from tests.conftest import BACKEND
from tests.examples import LONG
from tests.factories import Cast, make_band, make_cast
from tests.faults.killing import (
    TALLY,
    State,
    copy_of,
    differing,
    run_in,
    state_of,
    wait_until_free,
)
from tests.stories.hand import PageReader

POINTS = 1_000_000 if LONG else 10
SEED = int(os.environ.get("FAULT_SEED", "20261130"))
MEMBERS = b"legal name,student number,main part\nNova Reed,N-1,trumpet\nOle Birk,N-2,clarinet\n"


@dataclass
class Action:
    """Something that is sent: by whom, where, what; and what must be true once it is done."""

    name: str
    user: User
    url: str
    data: dict[str, Any]
    headers: dict[str, str]

    def __call__(self) -> None:
        client = Client(headers=self.headers)
        client.force_login(self.user, backend=BACKEND)
        answer = client.post(self.url, self.data)
        assert answer.status_code in (200, 302), f"{self.name}: {answer.status_code}"


def form_of(user: User, url: str, field: str) -> dict[str, Any]:
    client = Client()
    client.force_login(user, backend=BACKEND)
    page = client.get(url).content.decode()
    form = next(f for f in PageReader(page).forms if f.method == "post" and field in f.data)
    return dict(form.data)


def publish(world: World, staff: User) -> Action:
    draft = lineup_queries.draft(world.event)
    assert draft is not None
    take_proposal(actor=staff, event=world.event, seen_version=draft.version)
    url = reverse("publish", args=[world.event.pk])
    return Action("publish", staff, url, form_of(staff, url, "version"), {})


def import_members(world: World, staff: User) -> Action:
    client = Client()
    client.force_login(staff, backend=BACKEND)
    file = SimpleUploadedFile("new.csv", MEMBERS)
    client.post(reverse("import-upload", args=["members"]), {"file": file})
    upload = ImportUpload.objects.latest("pk")
    url = reverse("import-review", args=[upload.pk])
    return Action("import", staff, url, form_of(staff, url, "digest"), {})


def mark(world: World, staff: User) -> Action:
    it = world.tryout
    Tryout.objects.filter(pk=it.tryout.pk).update(state="judging")
    url = reverse("mark-note", args=[it.sessions[0].pk, it.candidates[0].pk])
    data = {"key": str(uuid.uuid4()), "criterion": it.criteria[0].pk, "value": "2"}
    return Action("mark", it.panelists[0].user, url, data, {})


def issue(world: World, staff: User) -> Action:
    item = Item.objects.filter(state="in store", part_of=None).earliest("pk")
    member = Member.objects.filter(season=world.band.season, status="active").latest("pk")
    url = reverse("equipment-hand-out")
    data = {"key": str(uuid.uuid4()), "tag": item.tag, "member": member.pk, "condition": ""}
    return Action("issue", staff, url, data, {})


def jobs() -> None:
    """A worker's hour: what waits is done, and what fails rests."""
    for pk in waiting_jobs():
        run_job(pk)


@pytest.fixture
def made(settings: Any, transactional_db: None) -> tuple[World, Cast]:
    if connection.vendor != "postgresql":
        pytest.skip("copies of a database are PostgreSQL's")
    settings.JOBS_RUN_IN = "later"
    band = make_band()
    cast = make_cast(band)
    return make_world(band, cast.staff, cast.member), cast


def chosen(count: int, name: str, most: int = POINTS) -> list[int]:
    """The points that are tried: the same for the same seed."""
    points = range(1, count + 1)
    return sorted(random.Random(f"{SEED} {name}").sample(points, min(most, count)))


ACTIONS: list[Callable[[World, User], Action]] = [publish, import_members, mark, issue]


def beside_keys(one: State, other: State) -> list[str]:
    """Where an answer led is kept after the commit: a server that dies between knows it not."""
    return [line for line in differing(one, other) if not line.startswith("lib_sentform")]


def done_whole(source: str, action: Action) -> tuple[int, State, State]:
    """In how many statements the action is done, and how the database is before and after."""
    before = state_of(source)
    with copy_of(source, f"{source}_whole") as whole:
        count = int(run_in(whole, action))
        wanted = state_of(whole)
    assert differing(before, wanted), "it does something"
    return count, before, wanted


def judge(name: str, action: Action, what: str, before: State, wanted: State) -> None:
    """Of a database in which the action was cut off: it is undone or done, and sent again done."""
    wait_until_free(name)
    left = state_of(name)
    is_undone, is_done = not differing(before, left), not beside_keys(left, wanted)
    TALLY.undone += is_undone
    TALLY.done += is_done
    if not is_undone and not is_done:
        TALLY.wrong.append(f"{what} half: {differing(before, left)}")
    run_in(name, action)
    if rest := beside_keys(state_of(name), wanted):
        TALLY.wrong.append(f"{what} again: {rest}")
