"""The game-day desk: filled at once, reported, published, told."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
import time_machine
from django.utils import timezone

from bandops.lib.keys import key
from bandops.lib.outbox.running import MAX_ATTEMPTS, run_job, waiting_jobs
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.absences.services.absences import Report, report_absence, withdraw_absence
from drill.gameday.core.fills import seats_of_member
from drill.gameday.models import DayChange
from drill.gameday.services.desk import choices_for, open_desk, who_is_back
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Pin
from drill.publishing import queries as publishing_queries
from tests.drill.gameday.gameday_desk import ask, at, number, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]


def test_a_fill_reports_places_publishes_and_tells(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    assert (change.before.number, change.after.number) == (1, 2)
    for segment in ("Pregame", "Halftime"):
        assert at(out, segment, "1-3") == "Jon Pell"
    absence = Absence.objects.get(member=out.members["Cai Ørnberg"])
    assert (absence.kind, absence.state, absence.category) == ("out", "confirmed", "")
    told = {n.member.name for n in change.after.notices.all()}
    assert told == {"Cai Ørnberg", "Jon Pell", "Ana Núñez"}


def test_choices_come_in_the_order_of_the_backups(out: Band) -> None:
    desk = open_desk(out.event)
    assert desk is not None
    cai = key(out.members["Cai Ørnberg"].pk)
    seats = seats_of_member(desk.field, cai, desk.clock.keys)
    found = choices_for(desk, seats, cai)
    names = [desk.built.members[c.member].name for c in found if not c.is_chain]
    assert names == ["Jon Pell", "Ida Voss", "Kit Moss"]


def test_a_wish_sent_twice_is_done_once(out: Band, cast: Cast) -> None:
    same = wish(out, "Cai Ørnberg", "Jon Pell")
    first, second = ask(out, cast, same), ask(out, cast, same)
    assert first.change == second.change
    assert DayChange.objects.count() == 1
    assert number(out) == 2
    assert Absence.objects.count() == 1


def test_an_old_page_still_fills_what_nobody_touched(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    assert ask(out, cast, wish(out, "Gus Tamm", "Kit Moss", seen=1)).change is not None
    assert at(out, "Halftime", "2-2") == "Kit Moss"


def test_who_is_back_is_shown_and_moves_nothing(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    desk = open_desk(out.event)
    assert desk is not None and who_is_back(desk) == []
    withdraw_absence(actor=cast.staff, absence=Absence.objects.get())
    desk = open_desk(out.event)
    assert desk is not None and [b.change for b in who_is_back(desk)] == [change]
    assert at(out, "Halftime", "1-3") == "Jon Pell"


def test_nobody_may_be_the_answer(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Hal Brook", None))
    assert at(out, "Pregame", "2-3") == at(out, "Halftime", "2-3") == "nobody"


def test_who_cannot_march_it_cannot_step_in(out: Band, cast: Cast) -> None:
    outcome = ask(out, cast, wish(out, "Cai Ørnberg", "Dee Quill"))
    assert outcome.change is None and outcome.clash is not None and outcome.clash.is_away
    assert at(out, "Halftime", "1-3") == "Cai Ørnberg" and number(out) == 1
    assert Absence.objects.get().member == out.members["Cai Ørnberg"], "that they are out is kept"


def test_a_chain_moves_the_holder_and_fills_theirs(out: Band, cast: Cast) -> None:
    """Kit alone is free for rank 2; Gus knows 1-3 already, so the chain costs no sets."""
    for name in ("Jon Pell", "Ida Voss"):
        say_out(out, cast, name)
    from drill.rehearsals.models import Practice
    from drill.shows.models import DrillSet, Show, ShowVersion

    show = Show.objects.get()
    version = ShowVersion.objects.create(show=show, label="one", order=1)
    for order in range(1, 5):
        DrillSet.objects.create(version=version, order=order, label=str(order), counts=8)
    for name, spot in (("Gus Tamm", "1-3"), ("Kit Moss", "2-2")):
        Practice.objects.create(member=out.members[name], spot=out.spots[spot], show=show, sets=4)
    made = wish(out, "Cai Ørnberg", "Kit Moss", mover="Gus Tamm")
    assert ask(out, cast, made).change is not None
    assert at(out, "Halftime", "1-3") == "Gus Tamm"
    assert at(out, "Halftime", "2-2") == "Kit Moss"


def test_others_who_are_out_keep_their_places_for_their_own_decision(out: Band, cast: Cast) -> None:
    say_out(out, cast, "Gus Tamm")
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None and len(change.seats) == 2
    assert at(out, "Halftime", "2-2") == "Gus Tamm"


def test_a_pin_of_somebody_who_is_out_falls(out: Band, cast: Cast) -> None:
    Pin.objects.create(event=out.event, spot=out.spots["1-3"], member=out.members["Cai Ørnberg"])
    assert ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change is not None
    assert not Pin.objects.exists()


def say_out(band: Band, cast: Cast, name: str) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def test_a_notice_that_no_mail_takes_is_to_be_told_in_person(
    out: Band, cast: Cast, monkeypatch: pytest.MonkeyPatch, settings: Any
) -> None:
    settings.JOBS_RUN_IN = "later"
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))

    def refused(*args: object, **more: object) -> None:
        raise ConnectionRefusedError("no mail")

    monkeypatch.setattr("bandops.lib.mail.send_mail", refused)
    started = timezone.now()
    for hour in range(MAX_ATTEMPTS):
        with time_machine.travel(started + datetime.timedelta(hours=hour), tick=False):
            for job in waiting_jobs():
                run_job(job)
    lineup = lineup_queries.published(out.event)
    assert lineup is not None
    names = {n.member.name for n in publishing_queries.unreached(lineup) if n.lineup == lineup}
    assert names == {"Cai Ørnberg", "Jon Pell", "Ana Núñez"}
