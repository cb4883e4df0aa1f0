"""Pins, blocks, open spots, travel: what staff order is kept, or refused with the reason."""

from __future__ import annotations

import datetime

import pytest

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import (
    Report,
    decide_absence,
    report_absence,
    withdraw_absence,
)
from drill.events.services import events as event_events
from drill.events.services.events import copy_event, save_segment
from drill.lineup.core.problem import Level, Origin
from drill.lineup.services import orders as lineup_orders
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.panel import panel
from drill.lineup.services.problem_builder import build
from drill.lineup.services.proposals import propose
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("unique constraints meet NULL")]


def marched(band: Band, spot: str, segment: str = "halftime") -> str:
    piece = getattr(band, segment)
    placed = propose(build(band.event)).answer.at(key(piece.pk), key(band.spots[spot].pk))
    if placed.member is None:
        return str(placed.origin)
    return next(m.name for m in band.members.values() if key(m.pk) == placed.member)


def test_a_pin_in_one_segment_leaves_the_other(band: Band, cast: Cast) -> None:
    lineup_orders.pin_member(
        actor=cast.staff,
        event=band.event,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Jon Pell"],
    )
    assert marched(band, "1-3") == "Jon Pell"
    assert marched(band, "1-3", "pregame") == "Cai Ørnberg"


@pytest.mark.parametrize(
    ("name", "why"),
    [("Dee Quill", "do not play its part"), ("Out Today", "not available")],
)
def test_a_pin_on_somebody_who_cannot_march_is_refused_with_the_reason(
    band: Band, cast: Cast, name: str, why: str
) -> None:
    member = band.members.get(name) or band.member(name, "trumpet")
    if name == "Out Today":
        report = Report(member, {"kind": AbsenceKind.OUT, "event": band.event})
        report_absence(actor=cast.staff, report=report, by_staff=True)
    with pytest.raises(Refused, match=why):
        lineup_orders.pin_member(
            actor=cast.staff,
            event=band.event,
            segment=None,
            spot=band.spots["1-3"],
            member=member,
        )


def test_nobody_is_pinned_who_is_not_cleared_and_no_reason_is_told(band: Band, cast: Cast) -> None:
    member = band.member("Not Cleared", "trumpet", cleared="no")
    with pytest.raises(Refused, match="not cleared or not eligible"):
        lineup_orders.pin_member(
            actor=cast.staff,
            event=band.event,
            segment=None,
            spot=band.spots["1-3"],
            member=member,
        )


def test_clearance_through_a_date_includes_that_day(band: Band) -> None:
    member = band.members["Cai Ørnberg"]
    member.cleared = "until"
    for day, name in ((band.event.date, "Cai Ørnberg"), (datetime.date(2099, 10, 16), "Ida Voss")):
        member.cleared_until = day
        member.save()
        assert marched(band, "1-3") == name


def test_a_block_and_a_spot_left_open(band: Band, cast: Cast) -> None:
    lineup_orders.block_member(
        actor=cast.staff,
        event=band.event,
        segment=None,
        spot=band.spots["1-3"],
        member=band.members["Cai Ørnberg"],
    )
    assert marched(band, "1-3") == "Ida Voss"
    seat = lineup_orders.leave_open(
        actor=cast.staff, event=band.event, segment=band.halftime, spot=band.spots["1-3"]
    )
    assert marched(band, "1-3") == Origin.LEFT_OPEN
    assert marched(band, "1-3", "pregame") == "Ida Voss"
    lineup_orders.lift_order(actor=cast.staff, order=seat)
    assert marched(band, "1-3") == "Ida Voss"


def test_the_travel_limit_counts_everybody_who_comes_along(band: Band, cast: Cast) -> None:
    band.event.travel_limit = 8
    band.event.save()
    assert propose(build(band.event)).answer.value(Level.HOLES) == 0
    event_events.set_must_travel(
        actor=cast.staff, event=band.event, members=[band.members["Jon Pell"]]
    )
    answer = propose(build(band.event)).answer
    placed = {p.member for p in answer.placements if p.member}
    assert len(placed | {key(band.members["Jon Pell"].pk)}) == 8
    assert answer.proven


def test_the_schools_instruments_bind(band: Band, cast: Cast) -> None:
    tuba = band.parts["sousaphone"].instrument
    tuba.school_stock = 0
    tuba.save()
    assert marched(band, "2-3") == Origin.HOLE
    skill = band.members["Hal Brook"].qualifications.get()
    skill.own_instrument = True
    skill.save()
    assert marched(band, "2-3") == "Hal Brook"


def test_a_member_without_anything_entered_reports_and_staff_decide(band: Band, cast: Cast) -> None:
    member = band.members["Cai Ørnberg"]
    values = {"kind": AbsenceKind.OUT, "event": band.event, "category": "health"}
    report = report_absence(actor=cast.member, report=Report(member, values), by_staff=False)
    assert (report.state, report.category) == ("reported", ""), "a member's report has no reason"
    assert marched(band, "1-3") == "Ida Voss", "a report counts until staff decline it"
    decide_absence(actor=cast.staff, absence=report, confirm=False)
    assert marched(band, "1-3") == "Cai Ørnberg"
    with pytest.raises(Refused, match="just declined the report"):
        decide_absence(actor=cast.director, absence=report, confirm=True)


def test_a_withdrawn_entry_counts_no_more(band: Band, cast: Cast) -> None:
    values = {"kind": AbsenceKind.OUT, "event": band.event}
    report = Report(band.members["Cai Ørnberg"], values)
    entry = report_absence(actor=cast.staff, report=report, by_staff=True)
    assert marched(band, "1-3") == "Ida Voss"
    withdraw_absence(actor=cast.staff, absence=entry)
    assert marched(band, "1-3") == "Cai Ørnberg"


def test_the_doubtful_march_or_not_by_the_seasons_setting(band: Band, cast: Cast) -> None:
    report = Report(
        band.members["Cai Ørnberg"],
        {"kind": AbsenceKind.DOUBTFUL, "event": band.event, "chance": "0.4"},
    )
    report_absence(actor=cast.staff, report=report, by_staff=True)
    assert marched(band, "1-3") == "Cai Ørnberg"
    built = build(band.event)
    assert built.is_doubtful(key(band.members["Cai Ørnberg"].pk), key(band.halftime.pk))
    band.season.doubtful_out_from = "0.40"
    band.season.save()
    band.event.season.refresh_from_db()
    assert marched(band, "1-3") == "Ida Voss"


def test_a_spots_candidates_carry_their_price(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    seat = (key(band.halftime.pk), key(band.spots["1-3"].pk))
    found = panel(build(band.event), draft, seat).candidates
    names = {key(m.pk): m.name for m in band.members.values()}
    assert [names[c.member] for c in found[:3]] == ["Cai Ørnberg", "Ida Voss", "Jon Pell"]
    assert found[1].put is not None and found[1].put.price is not None
    assert found[1].put.price[0][0] is Level.MOVED


def test_an_event_is_copied_to_next_week_across_a_change_of_the_clocks(
    band: Band, cast: Cast
) -> None:
    event = band.event
    event.date = datetime.date(2099, 10, 31)
    event.cut_off = datetime.datetime(2099, 10, 30, 18, tzinfo=event.zone)
    event.save()
    made = copy_event(
        actor=cast.staff, event=event, name="Hollin Vale", date=datetime.date(2099, 11, 7)
    )
    assert made.cut_off is not None
    local = made.cut_off.astimezone(made.zone)
    assert (local.day, local.hour, local.utcoffset()) == (6, 18, datetime.timedelta(hours=-6))
    assert [s.name for s in made.segments.all()] == ["Pregame", "Halftime", "Stands"]
    assert band.event.segments.count() == 3


def test_segments_of_an_event_do_not_overlap(band: Band, cast: Cast) -> None:
    band.stands.starts = datetime.time(16, 10)
    with pytest.raises(Refused, match="overlaps Halftime"):
        save_segment(actor=cast.staff, segment=band.stands)
