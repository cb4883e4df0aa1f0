"""Events of the small band's season and who missed them."""

from __future__ import annotations

import datetime
from collections.abc import Callable

from django.test import Client

from bandops.lib.accounts.models import User
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.events.models import Event
from tests.factories import Band

SignIn = Callable[[User | None], Client]
NAME = "Bo Larkspur"


def an_event(band: Band, day: int, kind: str = "game") -> Event:
    event = Event.objects.create(
        season=band.season,
        name=f"{kind} {day}",
        kind=kind,
        date=datetime.date(2099, 9, day),
        time_zone="America/Chicago",
    )
    for order, (name, what, hour) in enumerate(
        (("Pregame", "pregame", 14), ("Halftime", "halftime", 16), ("Stands", "stands", 17)), 1
    ):
        event.segments.create(
            order=order,
            name=name,
            kind=what,
            starts=datetime.time(hour),
            ends=datetime.time(hour, 20),
        )
    return event


def say(band: Band, event: Event, kind: str = AbsenceKind.OUT, **values: object) -> None:
    told: dict[str, object] = {"event": event, "kind": kind, **values}
    Absence.objects.create(member=band.members[NAME], **told)
