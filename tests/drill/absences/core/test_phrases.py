"""What people write about absences, read as a proposal."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.absences.core.phrases.days import Clock
from drill.absences.core.phrases.reading import Reading, read, tells_of_absence
from drill.absences.core.phrases.vocabulary import VOCABULARY
from tests.examples import examples

WEDNESDAY = datetime.date(2026, 9, 30)
CLOCK = Clock(WEDNESDAY, datetime.date(2026, 8, 10), datetime.date(2026, 12, 20))


def said(phrase: str, clock: Clock = CLOCK) -> str:
    """Kind, days and time in one line."""
    it = read(phrase, clock)
    last = f"{it.until_date:%m-%d}" if it.until_date else "open"
    time = it.late_until or it.leaves_at
    return f"{it.said} {it.from_date:%m-%d} {last}" + (f" {time:%H:%M}" if time else "")


@pytest.mark.parametrize(
    ("phrase", "meant"),
    [
        ("out thru Thurs", "out 09-30 10-01"),
        ("late 4:30 (lab)", "late 09-30 09-30 16:30"),
        ("maybe Sat", "doubtful 10-03 10-03"),
        ("leaves 5:15", "leaves 09-30 09-30 17:15"),
        ("doctor Tue", "out 10-06 10-06"),
        ("back Mon", "out 09-30 10-04"),
        ("Oct 3-5", "out 10-03 10-05"),
        ("gone all week", "out 09-30 10-04"),
        ("sick?", "doubtful 09-30 09-30"),
        ("OUT Wed", "out 09-30 09-30"),
        ("out until 10/12", "out 09-30 10-12"),
        ("10/3 - 10/5", "out 10-03 10-05"),
        ("3-5 Oct", "out 10-03 10-05"),
        ("Oct 30 – Nov 2", "out 10-30 11-02"),
        ("Oct. 3rd", "out 10-03 10-03"),
        ("3 Oct 2026", "out 10-03 10-03"),
        ("2026-10-03 thru 2026-10-07", "out 10-03 10-07"),
        ("Tue-Thu", "out 10-06 10-08"),
        ("out from Oct 3 to Oct 9", "out 10-03 10-09"),
        ("starting Oct 3", "out 10-03 open"),
        ("since Mon", "out 09-28 open"),
        ("out until further notice", "out 09-30 open"),
        ("rest of the season", "out 09-30 12-20"),
        ("out 2 weeks", "out 09-30 10-13"),
        ("out for a week", "out 09-30 10-06"),
        ("gone this weekend", "out 10-03 10-04"),
        ("gone next week", "out 10-05 10-11"),
        ("out tomorrow", "out 10-01 10-01"),
        ("the 5th", "out 10-05 10-05"),
        ("won’t be there Fri", "out 10-02 10-02"),
        ("can't make it Sat", "out 10-03 10-03"),
        ("may miss Sat", "doubtful 10-03 10-03"),
        ("50/50 for Saturday", "doubtful 10-03 10-03"),
        ("arrives 7:30 pm Fri", "late 10-02 10-02 19:30"),
        ("Fri 4:30 late", "late 10-02 10-02 16:30"),
        ("late til 5", "late 09-30 09-30 17:00"),
        ("late 16:30", "late 09-30 09-30 16:30"),
        ("here until noon", "leaves 09-30 09-30 12:00"),
        ("out after 5", "leaves 09-30 09-30 17:00"),
        ("leaving early, 8p", "leaves 09-30 09-30 20:00"),
        ("not marching until Oct 12", "limited 09-30 10-12"),
        ("back today", "in 09-30 open"),
        ("not sure yet, back hurts", "doubtful 09-30 09-30"),
        ("can play not march", "limited 09-30 09-30"),
        ("in after all", "in 09-30 open"),
        ("out Sat, back Sun", "out 10-03 10-03"),
        ("out w/ flu until Monday", "out 09-30 10-05"),
        ("Fri 10/2", "out 10-02 10-02"),
        ("gone Oct 3 & 4", "out 10-03 10-04"),
        ("funeral Thurs + Fri", "out 10-01 10-02"),
        ("has work until 6", "late 09-30 09-30 18:00"),
        ("not able to attend Sat", "out 10-03 10-03"),
    ],
)
def test_a_phrase_is_read_without_doubt(phrase: str, meant: str) -> None:
    assert said(phrase) == meant
    assert not read(phrase, CLOCK).doubts


@pytest.mark.parametrize(
    ("phrase", "doubt"),
    [
        ("arrives 7:30", "AM or PM"),
        ("late 10:15", "AM or PM"),
        ("late", "what time"),
        ("5:15", "Late until this time, or leaves at it?"),
        ("Tue and Thu", "several days"),
        ("next Tue", "“Next”"),
        ("back next Monday", "“Next”"),
        ("wisdom teeth Thu", "could not be read"),
        ("out Oct", "could not be read"),
        ("out 7", "could not be read"),
        ("late 99", "no such time"),
        ("leaves 31 Fri", "no such time"),
        ("dentist appt, back by halftime", "Which segments"),
        ("leaving after halftime", "Which segments"),
        ("Fri 10/3", "does not match the date"),
        ("Feb 30", "no such day"),
        ("Jan 5", "outside the season"),
        ("thru 9/1", "before the first"),
        ("maybe late 4:30", "for sure"),
        ("", "who is out when"),
        ("???", "who is out when"),
    ],
)
def test_what_is_not_certain_is_said(phrase: str, doubt: str) -> None:
    assert any(doubt in message for message in read(phrase, CLOCK).doubts)


@pytest.mark.parametrize(
    ("phrase", "reason"),
    [
        ("late 4:30 (lab)", "class"),
        ("doctor Tue", "health"),
        ("out Fri (sister's wedding)", "family"),
        ("out of town Sat", "travel"),
        ("out Fri", None),
        ("sick, lab Fri", None),
        ("out Fri (test)", None),
    ],
)
def test_a_reason_is_a_category_where_it_is_certain(phrase: str, reason: str | None) -> None:
    assert read(phrase, CLOCK).reason == reason


@pytest.mark.parametrize(
    ("phrase", "segments"),
    [
        ("missing pregame (class)", ("pregame",)),
        ("can't march half-time", ("halftime",)),
        ("out 1st half Sat", ("1st half",)),
        ("no Pregame + stands", ("pregame", "stands")),
        ("out drumline feature", ("drumline feature",)),
        ("stands only", ()),
    ],
)
def test_parts_of_an_event_are_named(phrase: str, segments: tuple[str, ...]) -> None:
    it = read(phrase, CLOCK, ["Pregame", "Drumline Feature"])
    assert (it.segments, it.doubts) == (segments, ())


@pytest.mark.parametrize(
    ("text", "tells"),
    [
        ("dentist", True),
        ("maybe Sat", True),
        ("missing pregame", True),
        ("2026-09-30 14:02", False),
        ("trumpet", False),
        ("no", False),
        ("Bo Larkspur", False),
    ],
)
def test_a_text_tells_of_an_absence(text: str, tells: bool) -> None:
    assert tells_of_absence(text) is tells


def test_words_in_brackets_say_nothing_of_days() -> None:
    assert said("out Fri (back is sore since Mon)") == "out 10-02 10-02"


def test_a_chance_is_kept_and_else_is_even() -> None:
    assert read("30% Sat", CLOCK).chance == Decimal("0.3")
    assert read("maybe Sat", CLOCK).chance == Decimal("0.5")


@pytest.mark.parametrize(
    ("today", "phrase", "meant"),
    [
        ("2026-10-01", "out thru Thurs", "out 10-01 10-01"),
        ("2026-10-05", "back Mon", "out 10-05 10-11"),
        ("2026-10-04", "gone all week", "out 10-04 10-11"),
        ("2026-10-04", "gone this weekend", "out 10-04 10-04"),
        ("2026-12-30", "out Jan 2", "out 01-02 01-02"),
    ],
)
def test_days_are_counted_from_today(today: str, phrase: str, meant: str) -> None:
    clock = Clock(datetime.date.fromisoformat(today), CLOCK.starts, datetime.date(2027, 1, 15))
    assert said(phrase, clock) == meant


def test_a_missing_year_is_the_season_s() -> None:
    clock = Clock(WEDNESDAY, CLOCK.starts, datetime.date(2027, 1, 15))
    assert read("out Jan 5", clock).from_date == datetime.date(2027, 1, 5)
    assert read("out Nov 5", clock).from_date == datetime.date(2026, 11, 5)


def test_whether_a_day_was_named_is_kept() -> None:
    assert [read(p, CLOCK).dated for p in ("late 4:30", "late 4:30 Fri")] == [False, True]


PIECES = [*VOCABULARY, "10/3", "31", "4:30", "7pm", "9999-12-31", "2026", "-", "?", "(", ")", "%"]


@examples(300, long=20_000)
@given(st.lists(st.one_of(st.sampled_from(PIECES), st.text(max_size=6)), max_size=8))
def test_any_phrase_is_a_proposal_that_keeps_its_order(pieces: list[str]) -> None:
    it = read(" ".join(pieces), CLOCK)
    assert isinstance(it, Reading)
    assert it.until_date is None or it.from_date <= it.until_date
    assert Decimal(0) <= it.chance <= 1


def test_days_in_a_row_may_begin_after_a_day_that_comes_first() -> None:
    """On a Sunday the Sunday beside a Saturday is a week away."""
    sunday = Clock(datetime.date(2026, 10, 4), CLOCK.starts, CLOCK.ends)
    assert said("gone Sat & Sun", sunday) == "out 10-10 10-11"
    assert read("Tue and Sun", sunday).doubts


def test_a_week_that_ends_today_is_asked_about() -> None:
    """Whoever is out all week on a Sunday hardly means that day alone."""
    sunday = Clock(datetime.date(2026, 10, 4), CLOCK.starts, CLOCK.ends)
    for phrase in ("out all week", "flu. out rest of week"):
        assert said(phrase, sunday) == "out 10-04 10-11"
        assert "Which week? Today is the last day of this one." in read(phrase, sunday).doubts
