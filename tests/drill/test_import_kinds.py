"""The drill's five imports: what each adds, changes, leaves as it is, and refuses."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from bandops.lib.imports.plan import Action
from drill.models import (
    Absence,
    Cover,
    CustomField,
    DrillSet,
    Event,
    Lineup,
    Place,
    Position,
    Practice,
    Segment,
    Show,
    ShowVersion,
)
from tests.factories import Band, Cast
from tests.lib.imports_help import (
    actions,
    all_same,
    csv_file,
    faults,
    plan_of,
    upload,
    words,
)
from tests.roster.test_import_kinds import Desk, changes

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]

# Events

EVENT_COLUMNS = (
    "event", "kind", "venue", "date", "time zone", "call time", "cut-off", "travel limit", "dress",
    "field", "segment", "segment kind", "starts", "ends", "show",
)  # fmt: skip
HOME = {
    "event": "Brackenfield at home",
    "date": "2099-10-17",
    "time_zone": "America/Chicago",
    "call_time": "11:00",
    "field": "60 ft",
}
PARADE = {
    "event": "Lamplight Parade",
    "kind": "parade",
    "date": "2099-10-24",
    "segment": "Line-up",
    "segment_kind": "duty",
    "starts": "6:30 pm",
    "ends": "19:00",
}


@pytest.fixture
def events(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "events", *EVENT_COLUMNS)


def event_row(**values: object) -> list[object]:
    return [values.get(k.replace(" ", "_").replace("-", "_"), "") for k in EVENT_COLUMNS]


def segment(name: str, kind: str, starts: str, ends: str, show: str = "") -> dict[str, str]:
    return {"segment": name, "segment_kind": kind, "starts": starts, "ends": ends, "show": show}


PREGAME = segment("Pregame", "pregame", "14:00", "14:20", "Tidewheel")


def test_events_are_added_changed_and_left(events: Desk) -> None:
    rows = [
        event_row(**HOME, **PREGAME),
        event_row(**HOME, **segment("Halftime", "halftime", "16:00", "16:25", "tidewheel")),
        event_row(**HOME, **segment("Encore", "parade", "18:05", "18:20", "Paper Lanterns")),
        event_row(**PARADE, cut_off="2099-10-23 18:00", travel_limit=200, dress="jacket; hat"),
    ]
    plan = events.plan(*rows)
    assert actions(plan) == ["same", "change", "add", "add"]
    assert changes(plan)[0] == ("ends", "16:20:00", "16:25:00")
    events.accept(*rows)
    made = Event.objects.get(name="Lamplight Parade")
    assert (made.kind, made.time_zone, made.field_type) == ("parade", "America/Chicago", "60 ft")
    assert made.cut_off == datetime.datetime(2099, 10, 23, 23, tzinfo=datetime.UTC)
    assert (made.travel_limit, made.dress) == (200, "jacket; hat")
    order = Segment.objects.filter(event=events.band.event).values_list("name", "order")
    assert list(order) == [("Pregame", 1), ("Halftime", 2), ("Stands", 3), ("Encore", 4)]
    assert Show.objects.filter(name="Paper Lanterns").count() == 1


def test_what_is_said_of_an_event_may_stand_in_one_row(events: Desk) -> None:
    first = event_row(**{**PARADE, "call_time": "17:00", "venue": "High Street"})
    second = event_row(
        event="Lamplight Parade",
        date="2099-10-24",
        **segment("March", "parade", "19:00", "20:00"),
    )
    events.accept(first, second)
    made = Event.objects.get(name="Lamplight Parade")
    assert (made.kind, made.venue, made.call_time) == ("parade", "High Street", datetime.time(17))


def test_events_may_be_on_a_field_of_the_band_s_own(events: Desk) -> None:
    CustomField.objects.create(
        season=events.band.season, name="Old Arena", front_hash=20_000, back_hash=40_000
    )
    events.accept(event_row(**PARADE, field="old arena"))
    assert Event.objects.get(name="Lamplight Parade").field_type == "Old Arena"
    (fault,) = events.plan(event_row(**PARADE, field="Mars")).faults
    assert fault.message == "“Mars” is not one of 60 ft, 53 ft 4 in, 70 ft 9 in, Old Arena."


def test_columns_a_file_of_events_lacks_stay(band: Band, cast: Cast) -> None:
    Event.objects.update(dress="jacket", travel_limit=9, kind="trip", venue="Mill Lane")
    header = ["event", "date", "segment", "segment kind", "starts", "ends"]
    row = ["Brackenfield at home", "2099-10-17", "Pregame", "pregame", "14:00", "14:20"]
    assert all_same(plan_of("events", csv_file(header, row), band.season, cast.staff))


def test_every_fault_of_events_is_named(events: Desk) -> None:
    names = (f"Parade {n}" for n in range(99))

    def bad(**values: object) -> list[object]:
        return event_row(**{**PARADE, "event": next(names), **values})

    assert events.faults(
        bad(event=""),
        bad(date=""),
        bad(date="soon"),
        bad(kind="concert"),
        bad(time_zone="Mars/Olympus"),
        bad(time_zone="Mars/Olympus", cut_off="2099-10-23 18:00"),
        bad(time_zone="../../etc/passwd", cut_off="2099-10-23 18:00"),
        bad(call_time="noon"),
        bad(cut_off="Friday"),
        bad(travel_limit=0),
        bad(travel_limit="9" * 400),
        bad(field="grass"),
        bad(segment=""),
        bad(segment_kind=""),
        bad(segment_kind="encore"),
        bad(starts=""),
        bad(ends="7 o'clock"),
        bad(starts="19:00"),
        bad(event="E" * 101),
        bad(venue="v" * 101),
        bad(dress="d" * 201),
        bad(segment="s" * 61),
        bad(show="s" * 101),
        event_row(**PARADE),
        event_row(**PARADE),
        event_row(**{**PARADE, "segment": "More", "kind": "game"}),
        event_row(**{**PARADE, "segment": "Yet more", "call_time": "11:00"}),
        event_row(**{**PARADE, "segment": "Even more", "call_time": "11:15"}),
    ) == [
        (2, "event"), (3, "date"), (4, "date"), (5, "kind"), (6, "time zone"), (7, "time zone"),
        (8, "time zone"), (9, "call time"), (10, "cut-off"), (11, "travel limit"),
        (12, "travel limit"), (13, "field"), (14, "segment"), (15, "segment kind"),
        (16, "segment kind"), (17, "starts"), (18, "ends"), (19, "ends"), (20, "event"),
        (21, "venue"), (22, "dress"), (23, "segment"), (24, "show"), (26, "segment"), (27, "kind"),
        (29, "call time"),
    ]  # fmt: skip


# Absences

ABSENCE_COLUMNS = (
    "member", "event", "from", "until", "segment", "kind", "late until", "leaves at", "chance",
    "category", "review date",
)  # fmt: skip


@pytest.fixture
def absences(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "absences", *ABSENCE_COLUMNS)


def absence_row(member: str = "Cai Ørnberg", **values: object) -> list[object]:
    values = {"member": member, **values}
    return [values.get(k.replace(" ", "_"), "") for k in ABSENCE_COLUMNS]


GAME = "Brackenfield at home"


def test_absences_are_added_and_left(absences: Desk) -> None:
    rows = [
        absence_row(event=GAME, category="injury"),
        absence_row("Dee Quill", event=GAME, segment="pregame", kind="doubtful", chance="40%"),
        absence_row("Eno Farrow", event=GAME, kind="late", late_until="2:30 pm"),
        absence_row("Gus Tamm", kind="limited", **{"from": "2099-10-01", "until": "2099-10-09"}),
        absence_row("Hal Brook", kind="doubtful", **{"from": "2099-10-01"}),
    ]
    assert actions(absences.plan(*rows)) == ["add"] * 5
    absences.accept(*rows)
    by_name = {a.member.name: a for a in Absence.objects.all()}
    assert by_name["Cai Ørnberg"].category == "health"
    assert by_name["Dee Quill"].segment == absences.band.pregame
    assert by_name["Dee Quill"].chance == Decimal("0.40")
    assert by_name["Eno Farrow"].late_until == datetime.time(14, 30)
    assert by_name["Hal Brook"].chance == Decimal("0.5")
    assert {a.state for a in by_name.values()} == {"confirmed"}
    assert {a.reported_by for a in by_name.values()} == {absences.cast.staff}


def test_out_in_and_out_again_are_three_entries(absences: Desk) -> None:
    rows = [absence_row(event=GAME, kind=kind) for kind in ("out", "in", "out")]
    absences.accept(*rows)
    assert list(Absence.objects.order_by("id").values_list("kind", flat=True)) == [
        "out",
        "in",
        "out",
    ]


def test_an_entry_that_was_withdrawn_is_not_there_already(absences: Desk) -> None:
    absences.accept(absence_row(event=GAME))
    Absence.objects.update(state="withdrawn")
    assert actions(absences.plan(absence_row(event=GAME))) == ["add"]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_absences_go_out_and_come_in_without_a_change(
    absences: Desk, signed_in: Any, form: str
) -> None:
    twin = Event.objects.get(pk=absences.band.event.pk)
    twin.pk, twin.date = None, datetime.date(2099, 11, 7)
    twin.save()
    day = {"from": "2099-10-17"}
    absences.accept(
        absence_row(event=GAME, **day),
        absence_row(event=GAME, **{"from": "2099-11-07"}),
        absence_row("Dee Quill", event=GAME, kind="doubtful", chance="0.4", **day),
        absence_row("Gus Tamm", kind="leaves", leaves_at="20:30", **{"from": "2099-10-01"}),
        absence_row("Gus Tamm", kind="in", **{"from": "2099-10-02", "until": "2099-10-02"}),
    )
    Absence.objects.filter(kind="in").update(state="withdrawn")
    Absence.objects.filter(kind="leaves").update(state="declined")
    client = signed_in(absences.cast.staff)
    out = client.get(reverse("export", args=["absences", form]))
    page = upload(client, "absences", out.content, f"a.{form}")
    assert "Everything in the file is already there." in words(page)


def test_every_fault_of_absences_is_named(absences: Desk) -> None:
    day = {"from": "2099-10-01"}
    assert absences.faults(
        absence_row("Nobody Here", event=GAME),
        absence_row(),
        absence_row(event="No such game"),
        absence_row(event=GAME, segment="Encore"),
        absence_row(segment="Pregame", **day),
        absence_row(event=GAME, **day),
        absence_row(event=GAME, until="2099-10-20"),
        absence_row(**day, until="2099-09-01"),
        absence_row(**{"from": "soon"}, event=""),
        absence_row(**day, kind="gone"),
        absence_row(**day, kind="late"),
        absence_row(**day, kind="leaves", leaves_at="late"),
        absence_row(**day, chance="0.4"),
        absence_row(**day, kind="doubtful", chance="1.5"),
        absence_row(**day, kind="doubtful", chance="maybe"),
        absence_row(**day, category="broken leg"),
        absence_row(**day, review_date="later"),
        absence_row(until="2099-10-20"),
        absence_row(event=GAME, late_until="15:00"),
        absence_row(**day, kind="late", late_until="15:00", leaves_at="16:00"),
        absence_row(**day, kind="doubtful", chance="0"),
        absence_row(**day, review_date="2099-09-30"),
        absence_row(**{"from": "0001-01-01"}),
    ) == [
        (2, "member"), (3, "event"), (4, "event"), (5, "segment"), (6, "segment"), (7, "event"),
        (8, "until"), (9, "until"), (10, "from"), (10, "event"), (11, "kind"), (12, "late until"),
        (13, "leaves at"), (14, "chance"), (15, "chance"), (16, "chance"), (17, "category"),
        (18, "review date"), (19, "event"), (20, "late until"), (21, "leaves at"), (22, "chance"),
        (23, "review date"), (24, "from"), (24, "event"),
    ]  # fmt: skip


def test_a_diagnosis_is_refused_and_not_repeated(absences: Desk) -> None:
    plan = absences.plan(absence_row(event=GAME, category="broken leg"))
    assert "broken" not in plan.faults[0].message
    assert plan.faults[0].message.endswith("no diagnosis.")


# Coordinates


@pytest.fixture
def coordinates(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "coordinates", "show", "version", "set", "counts", "place", "x", "y")


def points(*sets: tuple[str, int], x: float = 0, version: str = "1") -> list[list[object]]:
    return [
        ["Tidewheel", version, name, counts, place, x + 2 * n, 28]
        for name, counts in sets
        for n, place in enumerate(("1-1", "1-2"))
    ]


def stored() -> list[tuple[Any, ...]]:
    rows = Position.objects.order_by("set__version__order", "set__order", "place__label")
    return list(
        rows.values_list("set__version__label", "set__label", "set__counts", "place__label", "x")
    )


def test_a_version_is_added_left_and_written_anew(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0), ("2", 16)))
    assert stored() == [
        ("1", "1", 0, "1-1", 0),
        ("1", "1", 0, "1-2", 1440),
        ("1", "2", 16, "1-1", 0),
        ("1", "2", 16, "1-2", 1440),
    ]
    again = points(("1", 0), ("1A", 8), x=-4)
    plan = coordinates.plan(*again)
    assert changes(plan) == [
        ("sets and counts", "1 (0), 2 (16)", "1 (0), 1A (8)"),
        ("positions", "4", "4, 4 of them new or moved"),
    ]
    coordinates.accept(*again)
    assert [row[1] for row in stored()] == ["1", "1", "1A", "1A"]
    assert ShowVersion.objects.count() == 1
    assert Place.objects.count() == 2


def test_counts_alone_and_the_order_of_sets_are_changes(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0), ("2", 16)))
    coordinates.accept(*points(("1", 0), ("2", 12)))
    assert list(DrillSet.objects.values_list("counts", flat=True)) == [0, 12]
    coordinates.accept(*points(("2", 12), ("1", 0)))
    assert list(DrillSet.objects.values_list("label", flat=True)) == ["2", "1"]


def test_another_version_and_a_new_show_stand_beside(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0)))
    other = [["Paper Lanterns", *row[1:]] for row in points(("1", 0))]
    coordinates.accept(*points(("1", 0), version="October"), *other)
    labels = ShowVersion.objects.values_list("show__name", "label", "order")
    assert set(labels) == {
        ("Tidewheel", "1", 1),
        ("Tidewheel", "October", 2),
        ("Paper Lanterns", "1", 1),
    }


def test_a_preview_is_stale_when_the_version_was_written_meanwhile(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0)))
    first = coordinates.plan(*points(("1", 0), x=4)).digest
    Position.objects.update(y=1)
    assert coordinates.plan(*points(("1", 0), x=4)).digest != first


def test_a_version_of_a_published_lineup_is_warned_of(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0)))
    version = ShowVersion.objects.get()
    versions = {str(version.show_id): version.pk}
    Lineup.objects.create(
        event=coordinates.band.event, state="published", number=1, show_versions=versions
    )
    plan = coordinates.plan(*points(("1", 0), x=4))
    assert "published lineup" in plan.warnings[0].message
    assert not coordinates.plan(*points(("1", 0))).warnings


def test_every_fault_of_coordinates_is_named(coordinates: Desk) -> None:
    good = ["Tidewheel", "1", "1", 0, "1-1", 0, 28]

    def bad(**values: object) -> list[object]:
        keys = ("show", "version", "set", "counts", "place", "x", "y")
        return [values.get(k, old) for k, old in zip(keys, good, strict=True)]

    found = coordinates.faults(
        bad(show=""),
        bad(set=""),
        bad(place=""),
        bad(place="11-May"),
        bad(counts="many"),
        bad(x="left"),
        bad(y=""),
        bad(x="1e999999999"),
        bad(x="99999999"),
        bad(show="s" * 101),
        bad(version="v" * 61),
        bad(set="s" * 21),
        bad(place="p" * 31),
    )
    assert found == [
        (2, "show"), (3, "set"), (4, "place"), (5, "place"), (6, "counts"), (7, "x"), (8, "y"),
        (9, "x"), (10, "x"), (11, "show"), (12, "version"), (13, "set"), (14, "place"),
    ]  # fmt: skip
    twice = coordinates.faults(
        good, good, bad(place="1-2", counts=8), bad(set="2", counts=8), bad(set="2", counts=8)
    )
    assert twice == [(3, "place"), (4, "counts"), (6, "place")]


def test_off_the_field_and_missing_places_are_warnings(coordinates: Desk) -> None:
    plan = coordinates.plan(*points(("1", 0)), *points(("2", 8))[:1], *points(("3", 8), x=97))
    assert not plan.faults
    assert [(w.row, w.column) for w in plan.warnings] == [(4, "set"), (5, "x"), (6, "x")]


# Covers and practice


@pytest.fixture
def covers(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "covers", "spot", "order", "member")


def covered() -> set[tuple[str, str, int]]:
    return {(str(c.spot), c.member.name, c.order) for c in Cover.objects.all()}


def test_covers_are_added_changed_left_and_replaced(covers: Desk) -> None:
    covers.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"], ["1-2", 1, "Kit Moss"])
    kept = Cover.objects.get(spot__number=2).pk
    rows: list[list[object]] = [["1-1", 1, "Jon Pell"], ["1-1", 2, "Kit Moss"]]
    plan = covers.plan(*rows)
    assert [(line.row, line.action, line.label) for line in plan.lines] == [
        (2, Action.CHANGE, "Jon Pell covers 1-1, 1"),
        (3, Action.ADD, "Kit Moss covers 1-1, 2"),
        (0, Action.CHANGE, "Ida Voss no longer covers 1-1"),
    ]
    covers.accept(*rows)
    assert covered() == {
        ("1-1", "Jon Pell", 1),
        ("1-1", "Kit Moss", 2),
        ("1-2", "Kit Moss", 1),
    }
    assert Cover.objects.get(spot__number=2).pk == kept


def test_a_file_that_only_leaves_a_cover_out_can_be_accepted(covers: Desk) -> None:
    covers.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    plan = covers.plan(["1-1", 1, "Ida Voss"])
    assert plan.acceptable
    covers.accept(["1-1", 1, "Ida Voss"])
    assert covered() == {("1-1", "Ida Voss", 1)}


def test_two_covers_change_places(covers: Desk) -> None:
    covers.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    covers.accept(["1-1", 2, "Ida Voss"], ["1-1", 1, "Jon Pell"])
    assert covered() == {("1-1", "Ida Voss", 2), ("1-1", "Jon Pell", 1)}


def test_a_preview_is_stale_when_a_cover_it_removes_changed(covers: Desk) -> None:
    covers.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    first = covers.plan(["1-1", 1, "Kit Moss"]).digest
    Cover.objects.filter(order=2).delete()
    assert covers.plan(["1-1", 1, "Kit Moss"]).digest != first


def test_every_fault_of_covers_is_named(covers: Desk) -> None:
    assert covers.faults(
        ["9-9", 1, "Ida Voss"],
        ["11-May", 1, "Ida Voss"],
        ["1-1", 0, "Ida Voss"],
        ["1-1", "", "Ida Voss"],
        ["1-1", 1, "Nobody Here"],
        ["1-1", 1, "Dee Quill"],
        ["1-1", 1, "Ida Voss"],
        ["1-1", 2, "Ida Voss"],
        ["1-1", 1, "Jon Pell"],
    ) == [
        (2, "spot"), (3, "spot"), (4, "order"), (5, "order"), (6, "member"), (7, "member"),
        (9, "order"), (10, "order"),
    ]  # fmt: skip


@pytest.fixture
def practice(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "practice", "member", "spot", "show", "sets practised")


def test_practice_is_added_changed_and_left(practice: Desk) -> None:
    practice.accept(["Ida Voss", "1-1", "Tidewheel", 4], ["Jon Pell", "1-2", "tidewheel", 2])
    rows: list[list[object]] = [
        ["Ida Voss", "1-1", "Tidewheel", 9],
        ["Jon Pell", "1-2", "Tidewheel", 2],
    ]
    plan = practice.plan(*rows)
    assert actions(plan) == ["change", "same"]
    assert changes(plan) == [("sets", "4", "9")]
    practice.accept(*rows)
    assert set(Practice.objects.values_list("member__person__legal_name", "sets")) == {
        ("Ida Voss", 9),
        ("Jon Pell", 2),
    }


def test_every_fault_of_practice_is_named(practice: Desk) -> None:
    assert practice.faults(
        ["Nobody Here", "1-1", "Tidewheel", 4],
        ["Ida Voss", "9-9", "Tidewheel", 4],
        ["Ida Voss", "1-1", "No such show", 4],
        ["Ida Voss", "1-1", "Tidewheel", "some"],
        ["Ida Voss", "1-1", "Tidewheel", ""],
        ["Ida Voss", "1-1", "Tidewheel", 4],
        ["Ida Voss", "1-1", "Tidewheel", 5],
    ) == [
        (2, "member"), (3, "spot"), (4, "show"), (5, "sets practised"), (6, "sets practised"),
        (8, "member"),
    ]  # fmt: skip


def test_nothing_of_a_plan_with_faults_is_a_line_of_nobody(covers: Desk) -> None:
    assert faults(covers.plan(["1-1", 1, "Nobody Here"])) == [(2, "member")]
