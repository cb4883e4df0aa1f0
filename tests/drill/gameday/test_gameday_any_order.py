"""Whatever arrives, in whatever order: the lineup stays sound and nothing said is lost."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from bandops.lib.errors import Overtaken, Refused
from drill.absences.models import Absence
from drill.absences.services.absences import Report, report_once
from drill.gameday.models import Clash, DayChange
from drill.gameday.queries import open_clashes
from drill.gameday.services.clashes import decide_clash
from drill.gameday.services.desk import Wish
from drill.gameday.services.fills import fill, undo_change
from drill.leaving.services.releasing import release_member
from drill.lineup import queries as lineup_queries
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import take_proposal
from drill.lineup.sheets import sheets
from drill.publishing.services.publishing import publish_lineup
from tests.drill.gameday.gameday_desk import number, out
from tests.examples import examples
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
MARCHERS = ("Ana Núñez", "Bo Larkspur", "Cai Ørnberg", "Gus Tamm", "Hal Brook")
FREE = ("Ida Voss", "Jon Pell", "Kit Moss")
Step = tuple[object, ...]
AGO, LAG = st.integers(0, 90), st.integers(0, 2)
"""minutes since it was recorded; revisions that have come out since its page was read"""
STEPS = st.one_of(
    st.tuples(
        st.just("fill"), st.sampled_from(MARCHERS + FREE), st.sampled_from((*FREE, "")), LAG, AGO
    ),
    st.tuples(st.just("report"), st.sampled_from(MARCHERS), st.sampled_from(("out", "in")), AGO),
    st.tuples(st.just("release"), st.sampled_from(MARCHERS + FREE)),
    st.tuples(st.just("publish")),
    st.tuples(st.just("undo")),
    st.tuples(st.just("decide"), st.booleans()),
)


class Undone(Exception):
    """Nothing of an example stays."""


@contextmanager
def example() -> Iterator[None]:
    with suppress(Undone), transaction.atomic():
        yield
        raise Undone


@given(steps=st.lists(STEPS, min_size=3, max_size=8))
@examples(25, 400, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_order_ends_well(out: Band, cast: Cast, steps: list[Step]) -> None:
    with example():
        for name, *values in steps:
            getattr(Steps(out, cast), str(name))(*values)
        nobody_stands_twice_or_has_left(out)
        every_open_spot_is_listed(out)


class Steps:
    """What may happen; what a service refuses did not."""

    def __init__(self, band: Band, cast: Cast) -> None:
        self.band, self.cast = band, cast

    def fill(self, leaving: str, into: str, lag: int, ago: int) -> None:
        """Never refused: a change, a card, or nothing left to do, and the report is kept."""
        members = self.band.members
        at = timezone.now() - datetime.timedelta(minutes=ago)
        seen, key = max(1, number(self.band) - lag), uuid.uuid4()
        wish = Wish(members[leaving], members.get(into), None, seen, key, at)
        before = Absence.objects.filter(member=wish.out).count()
        for _ in range(2):
            outcome = fill(actor=self.cast.staff, event=self.band.event, wish=wish)
        assert Clash.objects.filter(key=key).count() + DayChange.objects.filter(key=key).count() < 2
        assert outcome.clash is None or outcome.clash.member_out == wish.out
        assert before or Absence.objects.filter(member=wish.out, kind="out").count() == 1

    def report(self, name: str, kind: str, ago: int) -> None:
        report = Report(self.band.members[name], {"kind": kind, "event": self.band.event})
        at = timezone.now() - datetime.timedelta(minutes=ago)
        entry, is_new = report_once(
            actor=self.cast.staff, report=report, by_staff=True, key=uuid.uuid4(), noted_at=at
        )
        assert is_new and entry.noted_at == at

    def release(self, name: str) -> None:
        with suppress(Refused):
            member, today = self.band.members[name], timezone.localdate()
            release_member(actor=self.cast.staff, member=member, on=today)

    def publish(self) -> None:
        staff, event = self.cast.staff, self.band.event
        with suppress(Refused, Overtaken):
            draft = open_draft(actor=staff, event=event)
            draft = take_proposal(actor=staff, event=event, seen_version=draft.version)
            seen = number(self.band)
            publish_lineup(actor=staff, event=event, seen_version=draft.version, seen_number=seen)

    def undo(self) -> None:
        change = DayChange.objects.filter(undone_at=None).first()
        if change is not None:
            with suppress(Refused):
                undo_change(actor=self.cast.staff, change=change)

    def decide(self, take: bool) -> None:
        for clash in open_clashes(self.band.event)[:1]:
            with suppress(Refused):
                decide_clash(actor=self.cast.staff, clash=clash, take=take)


def nobody_stands_twice_or_has_left(band: Band) -> None:
    lineup = lineup_queries.published(band.event)
    assert lineup is not None
    rows = lineup.rows.exclude(member=None).select_related("member")
    seats = [(row.segment_id, row.member_id) for row in rows]
    assert len(seats) == len(set(seats))
    assert not [row.member.name for row in rows if row.member and row.member.status == "left"]


def every_open_spot_is_listed(band: Band) -> None:
    lineup = lineup_queries.published(band.event)
    assert lineup is not None
    lineup.event = band.event
    listed = {seat.row.spot_id for seat, _ in sheets(lineup).hole_spots}
    assert listed == set(lineup.rows.filter(member=None).values_list("spot_id", flat=True))
