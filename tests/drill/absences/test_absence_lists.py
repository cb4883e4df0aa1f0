"""Lists of absences as people hand them in: their own headings, names alone, one event for all."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

import pytest
from django.test import Client

from drill.absences.models import Absence
from tests.drill.absences.before_the_game import wednesday
from tests.drill.shows.show_pages import SignIn
from tests.factories import Band, Cast
from tests.lib.imports_help import csv_file
from tests.lib.review_desk import Reviewer

__all__ = ["wednesday"]

pytestmark = pytest.mark.django_db


@pytest.fixture
def staff(cast: Cast, signed_in: SignIn) -> Client:
    return signed_in(cast.staff)


def review(client: Client, *rows: Sequence[object]) -> Reviewer:
    return Reviewer(client, "absences", csv_file(*map(list, rows)))


NAMES = ["Cai Ørnberg", "Dee Quill", "Bo Larkspur", "Hal Brook", "Ida Voss"]
TEXTS = ["out Sat", "dentist Fri", "maybe Sat", "", "late 4:30 Fri"]
ALONE: list[list[object]] = [[name] for name in NAMES]
LIST: list[list[object]] = [list(pair) for pair in zip(NAMES, TEXTS, strict=True)]


@pytest.mark.parametrize("heading", ["Excuse", "Note", "What's up", "Reason/when", "Reason", ""])
def test_free_text_is_known_by_what_it_holds(band: Band, staff: Client, heading: str) -> None:
    it = review(staff, ["Name", heading], *LIST)
    assert [p.original for p in it.page.context["proposals"]] == list(filter(None, TEXTS))


def test_free_text_may_stand_where_a_day_or_a_kind_is_expected(band: Band, staff: Client) -> None:
    for heading in ("Date", "Status"):
        it = review(staff, ["Name", heading], *LIST)
        assert len(it.page.context["proposals"]) == 4


def test_a_column_that_holds_what_it_says_stays_what_it_is(band: Band, staff: Client) -> None:
    rows: list[list[object]] = [[name, "2099-10-03", "illness"] for name in NAMES]
    it = review(staff, ["Name", "Date", "Reason"], *rows)
    assert not it.page.context["proposals"]
    assert it.plan.added == len(NAMES)


def test_when_a_form_was_sent_is_no_free_text(band: Band, staff: Client) -> None:
    rows: list[list[object]] = [["9/30/2099 14:02", name] for name in NAMES]
    assert not review(staff, ["Timestamp", "Name"], *rows).page.context["proposals"]


def choose(it: Reviewer, value: object) -> str:
    return it.send("all", value=str(value))


def entries() -> list[tuple[str, str, str]]:
    return [
        (
            a.member.name,
            a.kind,
            str(a.event or a.from_date) + (f", {a.segment}" if a.segment else ""),
        )
        for a in Absence.objects.order_by("pk")
    ]


def test_one_event_is_chosen_for_a_list_of_names(band: Band, staff: Client) -> None:
    it = review(staff, ["Saturday sign outs"], *ALONE)
    assert it.plan.faults
    assert "Event for 5 rows" in it.text
    assert f"All for Sat, Oct 17, {band.event.name}" in it.text
    choose(it, band.event.pk)
    assert not it.plan.faults
    it.save()
    assert entries() == [(name, "out", band.event.name) for name in NAMES]


@pytest.mark.parametrize("title", [[], [["Sign-outs for Saturday"]]])
def test_a_list_without_headings_is_read(band: Band, staff: Client, title: list[Any]) -> None:
    it = review(staff, *title, *LIST)
    assert len(it.plan.lines) + len({f.row for f in it.plan.faults}) == len(NAMES)
    assert len(it.page.context["proposals"]) == 4


def test_rows_with_their_own_day_keep_it(band: Band, staff: Client) -> None:
    it = review(staff, ["Name", "Excuse"], ["Cai Ørnberg", "sick"], ["Dee Quill", "out Fri"])
    choose(it, band.event.pk)
    it.send("answers", certain="all", **{"shown-2": "yes", "shown-3": "yes"})
    it.save()
    friday = str(band.event.date - datetime.timedelta(1))
    assert entries() == [("Cai Ørnberg", "out", band.event.name), ("Dee Quill", "out", friday)]


def test_the_choice_stays_when_columns_change_or_rows_are_set_aside(
    band: Band, staff: Client
) -> None:
    it = review(staff, ["Name"], ["Cai Ørnberg"], ["Nobody Atall"])
    choose(it, band.event.pk)
    it.send("columns", **{"column-0": "member"})
    assert it.page.context["review"].chooser.chosen == str(band.event.pk)
    it.send("aside")
    it.save()
    assert entries() == [("Cai Ørnberg", "out", band.event.name)]
    assert it.page.context["review"].chooser.chosen == str(band.event.pk)


def test_an_event_that_is_none_of_the_list_is_refused(band: Band, staff: Client) -> None:
    it = review(staff, ["Name"], ["Cai Ørnberg"], ["Dee Quill"])
    assert "Choose the event from the list" in choose(it, "0")


def test_the_choice_leaves_answers_of_other_rows(band: Band, staff: Client) -> None:
    it = review(staff, ["Name", "Excuse"], ["Cai Ørnberg", "late 7:30 Fri"], ["Dee Quill", "sick"])
    it.send("answers", **{"shown-2": "yes", "row-2": "right", "shown-3": "yes"})
    choose(it, band.event.pk)
    assert [p.row for p in it.page.context["proposals"] if p.checked] == [2]


def test_certain_rows_are_accepted_in_one_click(band: Band, staff: Client) -> None:
    it = review(staff, ["Name", "Excuse"], *LIST[:3], ["Ida Voss", "late 7:30 Fri"])
    shown = {f"shown-{p.row}": "yes" for p in it.page.context["proposals"]}
    assert [p.row for p in it.page.context["open_rows"]] == [5]
    it.send("answers", certain="all", **shown)
    assert [f.row for f in it.plan.faults] == [5]
    assert not it.plan.cautions
    it.send("answers", certain="all", **shown, **{f"row-{n}": "right" for n in range(2, 6)})
    it.save()
    assert Absence.objects.count() == 4


def test_an_answer_to_one_row_leaves_what_was_accepted(band: Band, staff: Client) -> None:
    it = review(staff, ["Name", "Excuse"], *LIST[:3], ["Ida Voss", "late 7:30 Fri"])
    shown = {f"shown-{p.row}": "yes" for p in it.page.context["proposals"]}
    it.send("answers", certain="all", **shown)
    page = it.text
    for row in (2, 3, 4):
        assert f'<input type="hidden" name="row-{row}" value="right">' in page


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("missing pregame (class)", ["Pregame"]),
        ("no pregame + halftime", ["Pregame", "Halftime"]),
        ("sick", [None]),
    ],
)
def test_segments_of_the_chosen_event_are_named(
    band: Band, staff: Client, text: str, meant: list[str | None]
) -> None:
    it = review(staff, ["Name", "Excuse"], ["Cai Ørnberg", text], ["Dee Quill", "out Fri"])
    choose(it, band.event.pk)
    it.send("answers", certain="all", **{"shown-2": "yes", "shown-3": "yes"})
    it.save()
    mine = Absence.objects.filter(member=band.members["Cai Ørnberg"]).order_by("pk")
    assert [a.segment and a.segment.name for a in mine] == meant
    assert {a.event for a in mine} == {band.event}


def test_a_segment_and_a_day_name_the_event(band: Band, staff: Client) -> None:
    it = review(
        staff, ["Name", "Excuse"], ["Cai Ørnberg", "out halftime Sat"], ["Dee Quill", "sick today"]
    )
    assert not it.plan.faults
    it.send("answers", certain="all", **{"shown-2": "yes", "shown-3": "yes"})
    it.save()
    assert entries()[0] == ("Cai Ørnberg", "out", f"{band.event.name}, Halftime")


def test_a_segment_without_an_event_is_asked_about(band: Band, staff: Client) -> None:
    it = review(
        staff, ["Name", "Excuse"], ["Cai Ørnberg", "missing pregame"], ["Dee Quill", "sick today"]
    )
    assert "Which event is it about?" in it.text
    it.send(
        "answers", **{"shown-2": "yes", "row-2-event": band.event.name, "row-2-segment": "Pregame"}
    )
    assert not it.plan.faults


def test_a_segment_the_event_has_not_is_asked_about(band: Band, staff: Client) -> None:
    rows = [["Cai Ørnberg", "out 1st half"], ["Dee Quill", "sick today"]]
    it = review(staff, ["Name", "Excuse"], *rows)
    choose(it, band.event.pk)
    assert "has no such segment" in it.text


def test_several_segments_stand_in_one_cell(band: Band, staff: Client) -> None:
    row: list[object] = ["Cai Ørnberg", band.event.name, "Pregame, Stands"]
    review(staff, ["Name", "Event", "Segment"], row).save()
    assert [a[2] for a in entries()] == [f"{band.event.name}, {s}" for s in ("Pregame", "Stands")]


AS_WRITTEN = """out
sick
dentist appt, back by halftime
leaving after halftime
late - lab till 5
out thru Thurs
sister's wedding Sat-Sun
can't make it Friday, exam
missing pregame (class)
late 4:30
ankle, not marching this week
has work until 6
out all weekend
50/50 for Sat
won't be at the game
can't march halftime
family thing
job interview, arrives 5:45 pm
conflict with lab
maybe""".splitlines()


def test_twenty_rows_take_two_buttons_and_an_answer_for_each_uncertain_one(
    band: Band, staff: Client
) -> None:
    rows: list[list[object]] = [[NAMES[n % 5], text] for n, text in enumerate(AS_WRITTEN)]
    it = review(staff, ["Who", "Excuse"], *rows)
    choose(it, band.event.pk)
    waiting = it.page.context["open_rows"]
    assert [p.original for p in waiting] == [*AS_WRITTEN[2:4], "maybe"]
    sent = {f"shown-{p.row}": "yes" for p in it.page.context["proposals"]}
    answers = {f"row-{p.row}": "right" for p in waiting} | {"row-5-leaves_at": "16:30"}
    it.send("answers", certain="all", **sent, **answers)
    it.save()
    assert Absence.objects.count() == 20


def test_a_reading_is_said_in_one_line(band: Band, staff: Client) -> None:
    it = review(staff, ["Name", "Excuse"], ["Cai Ørnberg", "late 4:30 Fri (lab)"], LIST[0])
    said = [p.said for p in it.page.context["proposals"]]
    friday = f"Fri, Oct {(band.event.date - datetime.timedelta(1)).day}"
    assert f"from {friday}; through {friday}; late until 4:30 PM; for staff class or exam" in said


def test_a_list_has_no_today_of_its_own(band: Band, staff: Client) -> None:
    """Who names no day is asked about, as long as no event is chosen for the list."""
    it = review(staff, ["Name", "Excuse"], ["Cai Ørnberg", "sick"], ["Dee Quill", "out Fri"])
    assert "No day given: do you mean today?" in it.text


def test_days_may_stand_in_a_column_of_their_own(band: Band, staff: Client) -> None:
    """Several days in one cell are read with the text; a text about another day is asked about."""
    head = ["Name", "Excuse", "Which date"]
    it = review(
        staff,
        head,
        ["Cai Ørnberg", "wedding", "10/16-10/18"],
        ["Dee Quill", "out, wisdom teeth Thursday", "2099-10-17"],
    )
    assert "from Fri, Oct 16; through Sun, Oct 18" in it.text
    assert "The text names another day." in it.text
