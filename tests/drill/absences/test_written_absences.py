"""Free text of absences: in a file, row by row, and in the box of the staff's page."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from bandops.lib.imports.models import ImportUpload
from drill.absences.models import Absence
from drill.absences.services.written import read_line
from tests.drill.shows.show_pages import SignIn
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import accept_shown, csv_file, upload, words

pytestmark = pytest.mark.django_db
HEADERS = ("member", "what they wrote")


@pytest.fixture(autouse=True)
def wednesday() -> Iterator[None]:
    """Sep 30, 2099, noon by the band's clock."""
    with time_machine.travel(datetime.datetime(2099, 9, 30, 17, tzinfo=datetime.UTC), tick=False):
        yield


@pytest.fixture
def staff(cast: Cast, signed_in: SignIn) -> Client:
    return signed_in(cast.staff)


@pytest.fixture
def written(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "absences", *HEADERS)


def entry() -> tuple[Any, ...]:
    a = Absence.objects.get()
    return a.member.name, a.kind, a.from_date, a.until_date, a.late_until, a.category


def day(month: int, number: int) -> datetime.date:
    return datetime.date(2099, month, number)


def test_free_text_is_read_and_waits_for_a_look(written: Desk) -> None:
    plan = written.plan(["Cai Ørnberg", "out thru Fri"], ["Dee Quill", "late 4:30 today (lab)"])
    assert [line.label for line in plan.lines] == [
        "Cai Ørnberg: out, Sep 30, 2099 to Oct 2, 2099",
        "Dee Quill: late until, Sep 30, 2099 to Sep 30, 2099",
    ]
    (caution,) = plan.cautions
    assert "rows 2–3" in caution.message


def test_a_text_that_is_not_certain_is_a_fault_until_somebody_looks(written: Desk) -> None:
    plan = written.plan(["Cai Ørnberg", "late 7:30"])
    assert [(f.row, f.column) for f in plan.faults] == [(2, "what they wrote")]
    assert "AM or PM" in plan.faults[0].message


@pytest.mark.parametrize("header", ["free text", "They wrote", "What they said", "message"])
def test_the_column_goes_by_many_names(band: Band, cast: Cast, header: str) -> None:
    plan = Desk(band, cast, "absences", "name", header).plan(["Cai Ørnberg", "maybe Sat"])
    assert [line.label for line in plan.lines] == [
        "Cai Ørnberg: doubtful, Oct 3, 2099 to Oct 3, 2099"
    ]


def test_other_columns_go_before_the_text(band: Band, cast: Cast) -> None:
    desk = Desk(band, cast, "absences", "member", "from", "until", "what they wrote")
    plan = desk.plan(["Cai Ørnberg", "2099-10-05", "2099-10-06", "out Fri"])
    assert plan.lines[0].label == "Cai Ørnberg: out, Oct 5, 2099 to Oct 6, 2099"


def test_what_other_columns_say_is_shown_as_a_form_takes_it(band: Band, staff: Client) -> None:
    headers = ("member", "kind", "late until", "category", "what they wrote")
    row = ("Cai Ørnberg", "late until", "7:30 pm", "exam", "late Fri")
    page = upload(staff, "absences", csv_file(headers, row))
    shown = {f.key: f.value for f in page.context["proposals"][0].fields}
    assert (shown["kind"], shown["late_until"], shown["category"]) == ("late", "19:30", "class")


def test_a_kind_that_nobody_knows_is_what_was_read(band: Band, staff: Client) -> None:
    headers = ("member", "kind", "what they wrote")
    page = upload(
        staff, "absences", csv_file(headers, ("Cai Ørnberg", "gone fishing", "maybe Fri"))
    )
    shown = {f.key: f.value for f in page.context["proposals"][0].fields}
    assert shown["kind"] == "doubtful"


def test_an_event_has_its_own_day(band: Band, cast: Cast) -> None:
    desk = Desk(band, cast, "absences", "member", "event", "what they wrote")
    plan = desk.plan(["Cai Ørnberg", "Pellowick at home", "late 2:30"])
    assert plan.lines[0].label == "Cai Ørnberg: late until, Pellowick at home"


def review(client: Client, *rows: list[object]) -> Any:
    return upload(client, "absences", csv_file(HEADERS, *rows))


def answer(client: Client, page: Any, **values: str) -> Any:
    sent = {"what": "answers", "shown-2": "yes"}
    sent |= {name.replace("__", "-"): value for name, value in values.items()}
    return client.post(page.request["PATH_INFO"], sent, follow=True)


def test_a_row_that_is_right_is_ticked_and_saved(band: Band, staff: Client) -> None:
    page = review(staff, ["Cai Ørnberg", "late 7:30 (doctor)"])
    assert "“late 7:30 (doctor)”" in words(page)
    page = answer(staff, page, row__2="right")
    assert not page.context["plan"].faults
    assert not page.context["plan"].cautions
    accept_shown(staff, page)
    assert entry() == (
        "Cai Ørnberg", "late", day(9, 30), day(9, 30), datetime.time(19, 30), "health",
    )  # fmt: skip


def test_a_row_is_corrected_before_it_is_saved(band: Band, staff: Client) -> None:
    page = review(staff, ["Cai Ørnberg", "late 7:30"])
    corrected = {"row__2__late_until": "07:30", "row__2__from": "2099-10-03"}
    page = answer(staff, page, row__2__until="2099-10-03", **corrected)
    assert page.context["proposals"][0].checked
    accept_shown(staff, page)
    assert entry()[2:5] == (day(10, 3), day(10, 3), datetime.time(7, 30))


def test_a_wrong_correction_is_told_and_can_be_mended(band: Band, staff: Client) -> None:
    page = answer(staff, review(staff, ["Cai Ørnberg", "late 7:30"]), row__2__late_until="soon")
    assert "“soon” is not a time" in words(page)
    page = answer(staff, page, row__2="right", row__2__late_until="19:30")
    assert not page.context["plan"].faults


def test_a_row_that_was_ticked_can_be_unticked(band: Band, staff: Client) -> None:
    page = answer(staff, review(staff, ["Cai Ørnberg", "late 7:30"]), row__2="right")
    assert answer(staff, page).context["plan"].faults


def test_what_they_wrote_is_kept_nowhere(band: Band, staff: Client) -> None:
    page = review(staff, ["Cai Ørnberg", "out Fri (mononucleosis)"])
    accept_shown(staff, answer(staff, page, row__2="right"))
    assert Absence.objects.count() == 1
    assert not ImportUpload.objects.exists()
    kept = repr([(e.before, e.after, e.action) for e in AuditEntry.objects.all()])
    assert "mono" not in kept


def box(client: Client, line: str) -> Any:
    return client.post(reverse("absence-written"), {"line": line})


@pytest.mark.parametrize(
    "line", ["Cai Ørnberg out thru Fri", "ornberg: out thru Fri", "Cai - out thru Fri"]
)
def test_a_line_is_read_into_the_form(band: Band, staff: Client, line: str) -> None:
    page = box(staff, line)
    initial = page.context["form"].initial
    assert initial["member"] == band.members["Cai Ørnberg"]
    assert (initial["kind"], initial["until_date"]) == ("out", day(10, 2))
    assert line in words(page)
    assert not Absence.objects.exists()


def test_the_form_of_a_line_is_saved_as_any(band: Band, staff: Client) -> None:
    form = box(staff, "Cai Ørnberg late 4:30 Fri (lab)").context["form"]
    sent = {name: form[name].value() or "" for name in form.fields}
    sent["member"] = band.members["Cai Ørnberg"].pk
    staff.post(reverse("absence-new"), sent)
    assert entry() == (
        "Cai Ørnberg", "late", day(10, 2), day(10, 2), datetime.time(16, 30), "class",
    )  # fmt: skip


def test_a_line_that_names_nobody_asks_who_is_meant(band: Band, staff: Client) -> None:
    page = box(staff, "somebody out Fri")
    assert page.context["form"].initial["member"] is None
    assert "Who is it?" in words(page)


def test_an_empty_line_is_refused_with_an_example(band: Band, staff: Client) -> None:
    page = staff.post(reverse("absence-written"), {"line": " "}, follow=True)
    assert "Write who is out and when" in words(page)


def test_many_rows_are_checked_a_hundred_at_a_time(band: Band, staff: Client) -> None:
    rows: list[list[object]] = [
        ["Cai Ørnberg", f"late {n % 5 + 1}:{n % 60:02d} Fri"] for n in range(130)
    ]
    page = review(staff, *rows)
    assert len(page.context["proposals"]) == 100
    sent = {"what": "answers"}
    for it in page.context["proposals"]:
        sent |= {f"shown-{it.row}": "yes", f"row-{it.row}": "right"}
        sent |= {f"row-{it.row}-{f.key}": f.value for f in it.fields}
    page = staff.post(page.request["PATH_INFO"], sent, follow=True)
    assert page.status_code == 200
    waiting = [it.row for it in page.context["proposals"] if not it.checked]
    assert waiting == list(range(102, 132))


@pytest.mark.parametrize("name", ["Cai Ørnberg", "Ørnberg, Cai", "ORNBERG, CAI", "Ørnberg, Cai -"])
@pytest.mark.parametrize(
    ("rest", "kind"), [("maybe Sat", "doubtful"), ("late 4:30 (lab) Tues", "late")]
)
def test_what_follows_a_name_in_any_order_is_read(
    band: Band, name: str, rest: str, kind: str
) -> None:
    """After a comma all words could be given names; those of the absence are none."""
    member, reading = read_line(band.season, f"{name} {rest}")
    assert member == band.members["Cai Ørnberg"]
    assert reading.said.value == kind
