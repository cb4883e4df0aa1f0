"""What waited on phones comes over the network in any order, twice, and from phones whose clocks
are wrong: it comes to the same."""

from __future__ import annotations

import datetime
import json
import random
import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.absences.models import Absence
from drill.rehearsals.models import Attendance
from drill.rehearsals.services.attendance import notes_at, outcome_of
from roster.equipment.models import Issue, Item
from roster.people.models import Member
from roster.tryouts.models import Tryout
from roster.tryouts.services.marks import words_of
from tests.architecture.world import World
from tests.conftest import BACKEND
from tests.examples import LONG
from tests.factories import Cast
from tests.faults.acting import SEED, made
from tests.faults.killing import TALLY, copy_of, run_in, wait_until_free

__all__ = ["made"]

pytestmark = pytest.mark.django_db(transaction=True)
ORDERS = 200 if LONG else 3


@dataclass(frozen=True)
class Message:
    """A form that waited: whose, where to, what, how many minutes ago it was made, and how far
    the clock of its phone is off."""

    user: User
    url: str
    data: dict[str, Any]
    minutes: int
    off: datetime.timedelta = datetime.timedelta(0)

    def send(self, now: datetime.datetime) -> int:
        client = Client(headers={"X-Queued": "later", "X-Account": str(self.user.pk)})
        client.force_login(self.user, backend=BACKEND)
        by_phone = now + self.off
        made_at = by_phone - datetime.timedelta(minutes=self.minutes)
        times = {"noted_at": made_at.isoformat(), "sent_at": by_phone.isoformat()}
        return client.post(self.url, self.data | times).status_code


def messages(world: World, cast: Cast) -> list[Message]:
    """Notes of two people of whom one thinks again, marks of two evaluators of whom one does,
    reports, and pieces handed out."""
    fast = datetime.timedelta(hours=3, seconds=17)
    found = []
    people = list(Member.objects.filter(season=world.band.season, status="active").order_by("pk"))
    url = reverse("attendance-note", args=[world.rehearsal.pk])
    for minutes, state in ((40, "absent"), (20, "late")):
        for member in people[:3]:
            told = {"key": str(uuid.uuid4()), "member": member.pk, "state": state, "next": "/"}
            found.append(Message(cast.staff, url, told, minutes))
    told = {"key": str(uuid.uuid4()), "member": people[1].pk, "state": "present", "next": "/"}
    found.append(Message(cast.director, url, told, 30, fast))
    it = world.tryout
    Tryout.objects.filter(pk=it.tryout.pk).update(state="judging")
    for panelist, off in ((it.panelists[0], -fast), (it.panelists[1], fast)):
        for minutes, value in ((9, "1"), (3, "2"), (6, "3")):
            mark_url = reverse("mark-note", args=[it.sessions[0].pk, it.candidates[0].pk])
            told = {"key": str(uuid.uuid4()), "criterion": it.criteria[0].pk, "value": value}
            found.append(Message(panelist.user, mark_url, told, minutes, off))
    for member in people[3:6]:
        told = {"key": str(uuid.uuid4()), "member": member.pk, "kind": "out"}
        told["event"] = world.event.pk
        found.append(Message(cast.staff, reverse("absence-new"), told, 5))
    free = Item.objects.filter(state="in store", part_of=None).order_by("pk")
    for item, member in zip(free[:3], people, strict=False):
        told = {"key": str(uuid.uuid4()), "tag": item.tag, "member": member.pk, "condition": ""}
        found.append(Message(cast.staff, reverse("equipment-hand-out"), told, 8))
    return found


def outcome(world: World) -> dict[str, Any]:
    """What all of it came to."""
    notes = notes_at(world.rehearsal)
    it = world.tryout
    marks = it.candidates[0].marks.filter(
        criterion=it.criteria[0], session=it.sessions[0], panelist__in=it.panelists[:2]
    )
    return {
        "attendance": sorted((pk, outcome_of(told).state) for pk, told in notes.items()),
        "notes": Attendance.objects.count(),
        "marks": sorted(
            (m.criterion_id, m.panelist_id, str(words_of(m, m.changes.all())[-1].value))
            for m in marks
        ),
        "absences": sorted(Absence.objects.values_list("member", flat=True)),
        "out": sorted(Issue.objects.filter(returned_at=None).values_list("item", "member")),
    }


def test_it_comes_to_the_same_in_any_order(made: tuple[World, Cast], tmp_path: Path) -> None:
    world, cast = made
    sent = messages(world, cast)
    now = world.rehearsal.local(datetime.time(18))
    source = str(connection.settings_dict["NAME"])
    connection.close()

    def arrive(order: list[Message], said: Path) -> None:
        with time_machine.travel(now, tick=False):
            codes = [message.send(now) for message in order]
            said.write_text(json.dumps({"codes": codes, **outcome(world)}, default=str))

    found = []
    for n in range(ORDERS + 1):
        wait_until_free(source)
        order = list(sent)
        if n:
            chance = random.Random(f"{SEED} order {n}")
            order += chance.sample(sent, len(sent) // 2)
            chance.shuffle(order)
            TALLY.replays += len(order)
        with copy_of(source, f"{source}_order") as copy:
            run_in(copy, lambda order=order: arrive(order, tmp_path / "said"))  # type: ignore[misc]
        found.append(json.loads((tmp_path / "said").read_text()))
    assert {code for one in found for code in one.pop("codes")} == {200}
    for n, one in enumerate(found):
        assert one == found[0], f"order {n} of seed {SEED}"
    assert {state for _, state in found[0]["attendance"]} > {"late"}, "the later word counts"
    assert {value for *_, value in found[0]["marks"]} == {"2.00"}
    assert len(found[0]["out"]) >= 3 and len(found[0]["absences"]) >= 3
