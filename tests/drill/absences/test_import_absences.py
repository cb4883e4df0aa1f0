"""The import of absences: what it adds, leaves as it is, and refuses."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest
from django.urls import reverse

from drill.absences.models import Absence
from drill.events.models import Event
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import actions, upload, words

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
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


GAME = "Pellowick at home"


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
