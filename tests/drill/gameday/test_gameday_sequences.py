"""Whatever is done at the desk, in whatever order: the published lineup stays sound."""

from __future__ import annotations

import datetime
import uuid
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

import pytest
import time_machine
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.absences.enums import COUNTING
from drill.absences.models import Absence
from drill.events.models import Segment
from drill.gameday.models import DayChange
from drill.gameday.services.desk import Wish
from drill.gameday.services.fills import fill, undo_change
from drill.gameday.services.openings import left_open_spots, open_spots
from drill.gameday.services.swaps import Swap, swap
from drill.leaving.services.releasing import release_member
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand, take_proposal
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.publishing import publish_lineup
from roster.people.models import Member
from tests.drill.gameday.gameday_desk import opened, out
from tests.examples import examples
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = pytest.mark.django_db

TRUMPETS = ("Ana Núñez", "Bo Larkspur", "Cai Ørnberg", "Gus Tamm", "Ida Voss", "Jon Pell")
NAMES = st.sampled_from((*TRUMPETS, "Hal Brook"))
SPOTS = st.sampled_from(("1-1", "1-2", "1-3", "2-2", "2-3"))
SEGMENTS = st.sets(st.sampled_from(("Pregame", "Halftime", "Stands")))
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("out"), NAMES, NAMES | st.none(), SEGMENTS),
        st.tuples(st.just("fill"), SPOTS, NAMES, SEGMENTS),
        st.tuples(st.just("swap"), NAMES, NAMES, SEGMENTS),
        st.tuples(st.just("put"), SPOTS, NAMES, SEGMENTS),
        st.tuples(st.just("release"), NAMES, st.none(), SEGMENTS),
        st.tuples(st.just("undo"), st.integers(0, 5), st.none(), SEGMENTS),
        st.tuples(st.just("propose"), st.none(), st.none(), SEGMENTS),
        st.tuples(st.just("publish"), st.none(), st.none(), SEGMENTS),
        st.tuples(st.just("wait"), st.none(), st.none(), SEGMENTS),
    ),
    min_size=2,
    max_size=7,
)


@dataclass
class Day:
    """One day at the desk of the small band."""

    band: Band
    cast: Cast

    def seats(self) -> dict[Seat, str | None]:
        return seats_of(placements_of(opened(self.band).lineup))

    def asked(self, names: set[str]) -> frozenset[int]:
        return frozenset(s.pk for s in self.segments() if s.name in names)

    def segments(self) -> list[Segment]:
        return [self.band.pregame, self.band.halftime, self.band.stands]

    def number(self) -> int:
        return opened(self.band).lineup.number or 0

    def do(self, what: str, one: object, two: object, names: set[str]) -> None:
        steps: dict[str, Callable[[], object]] = {
            "out": lambda: self.wish(one, two, None, names),
            "fill": lambda: self.wish(None, two, one, names),
            "swap": lambda: self.swap(one, two, names),
            "put": lambda: self.put(one, two, names),
            "release": lambda: release_member(
                actor=self.cast.staff, member=self.member(one), on=self.band.event.date
            ),
            "undo": lambda: self.undo(one, names),
            "propose": self.propose,
            "publish": self.publish,
        }
        steps[what]()

    def member(self, name: object) -> Member:
        return self.band.members[str(name)]

    def wish(self, out: object, into: object, spot: object, names: set[str]) -> None:
        made = Wish(
            self.member(out) if out else None,
            self.member(into) if into else None,
            None,
            self.number(),
            uuid.uuid4(),
            timezone.now(),
            self.asked(names),
            self.band.spots[str(spot)] if spot else None,
        )
        fill(actor=self.cast.staff, event=self.band.event, wish=made)

    def swap(self, first: object, second: object, names: set[str]) -> None:
        pair = self.member(first), self.member(second)
        made = Swap(*pair, self.number(), uuid.uuid4(), self.asked(names))
        swap(actor=self.cast.staff, event=self.band.event, wish=made)

    def put(self, spot: object, name: object, names: set[str]) -> None:
        """By hand in the draft, and published later."""
        place_by_hand(
            actor=self.cast.staff,
            event=self.band.event,
            seen_version=open_draft(actor=self.cast.staff, event=self.band.event).version,
            segment=self.band.pregame if "Pregame" in names else self.band.halftime,
            spot=self.band.spots[str(spot)],
            member=self.member(name),
        )
        if "Stands" not in names:
            self.publish()

    def propose(self) -> None:
        """The solver's lineup in the draft, and published."""
        draft = open_draft(actor=self.cast.staff, event=self.band.event)
        take_proposal(actor=self.cast.staff, event=self.band.event, seen_version=draft.version)
        self.publish()

    def publish(self) -> None:
        draft = open_draft(actor=self.cast.staff, event=self.band.event)
        publish_lineup(
            actor=self.cast.staff,
            event=self.band.event,
            seen_version=draft.version,
            seen_number=self.number(),
        )

    def undo(self, which: object, names: set[str]) -> None:
        """What the change did is as it was before, in what is not over; nothing else moves."""
        changes = list(DayChange.objects.filter(undone_at=None).order_by("pk"))
        if not changes:
            return
        change = changes[int(str(which)) % len(changes)]
        before, left = self.seats(), opened(self.band).clock.ids
        undo_change(actor=self.cast.staff, change=change)
        expected = before | {
            (key(g or 0), key(s or 0)): key(was) if was else None
            for g, s, was, _ in change.seats_in(left)
        }
        assert self.seats() == expected


def sound(day: Day, over: dict[Seat, str | None]) -> None:
    seats = day.seats()
    stands = Counter((segment, member) for (segment, _), member in seats.items() if member)
    assert not [who for who, count in stands.items() if count > 1], "nobody stands twice"
    desk = opened(day.band)
    listed = {
        (key(segment.pk), key(line.spot.pk))
        for line in (*open_spots(desk), *left_open_spots(desk))
        for segment in line.segments
    }
    left = desk.clock.keys
    assert listed == {s for s, member in seats.items() if member is None and s[0] in left}
    assert {s: m for s, m in seats.items() if s in over} == over, "what is over stays"


@settings(parent=examples(8, 120), suppress_health_check=list(HealthCheck))
@given(steps=STEPS)
def test_any_sequence_at_the_desk_leaves_a_sound_lineup(
    out: Band, cast: Cast, steps: list[tuple[str, object, object, set[str]]]
) -> None:
    day = Day(out, cast)
    with transaction.atomic():
        hour = 10
        over: dict[Seat, str | None] = {}
        for step in steps:
            if step[0] == "wait":
                hour = 15
                over = {s: m for s, m in day.seats().items() if s[0] == key(out.pregame.pk)}
                continue
            with time_machine.travel(out.event.local(datetime.time(hour)), tick=False):
                entries = _entries()
                seats = day.seats()
                try:
                    with transaction.atomic():
                        day.do(*step)
                except Refused:
                    assert (day.seats(), _entries()) == (seats, entries), "a refusal does nothing"
                sound(day, over)
                _only_where_asked(day, step, seats)
        transaction.set_rollback(True)


def _entries() -> set[int]:
    return set(Absence.objects.filter(state__in=COUNTING).values_list("pk", flat=True))


def _only_where_asked(
    day: Day, step: tuple[str, object, object, set[str]], before: dict[Seat, str | None]
) -> None:
    """A wish changes no seat of a segment that it does not name."""
    what, _, _, names = step
    if what not in ("out", "fill", "swap") or not names:
        return
    asked = {key(pk) for pk in day.asked(names)}
    after = day.seats()
    assert {s[0] for s in after if after[s] != before[s]} <= asked
