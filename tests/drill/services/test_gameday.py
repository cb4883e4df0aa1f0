"""The game-day desk: filled at once, taken back in one step, nobody silently overwritten."""

from __future__ import annotations

import datetime
import uuid
from typing import Any

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from bandops.lib.audit import undo
from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.outbox.running import MAX_ATTEMPTS, run_job, waiting_jobs
from drill import queries
from drill.enums import AbsenceKind, AbsenceState, NoticeState
from drill.models import Absence, Clash, Cover, DayChange, Lineup, Pin
from drill.services import notices
from drill.services.absences import Report, report_absence, withdraw_absence
from drill.services.gameday import (
    Outcome,
    Wish,
    choices,
    decide_clash,
    fill,
    open_desk,
    undo_change,
    who_is_back,
)
from drill.services.lineups import open_draft, place_by_hand
from drill.services.publishing import publish_lineup
from tests.architecture.world import publish
from tests.factories import Band, Cast
from tests.factories.cast import account_of

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]


def at(band: Band, segment: str, spot: str) -> str:
    lineup = queries.published(band.event)
    assert lineup is not None
    return name_at(lineup, segment, spot)


def name_at(lineup: Lineup, segment: str, spot: str) -> str:
    rank, number = spot.split("-")
    row = lineup.rows.get(segment__name=segment, spot__rank__label=rank, spot__number=int(number))
    return row.member.name if row.member else "nobody"


def wish(
    band: Band,
    out: str,
    into: str | None,
    seen: int = 1,
    key: uuid.UUID | None = None,
    mover: str | None = None,
) -> Wish:
    def named(name: str | None):  # type: ignore[no-untyped-def]
        return band.members[name] if name else None

    moment = timezone.now()
    return Wish(band.members[out], named(into), named(mover), seen, key or uuid.uuid4(), moment)


def ask(band: Band, cast: Cast, made: Wish) -> Outcome:
    return fill(actor=cast.staff, event=band.event, wish=made)


@pytest.fixture
def out(band: Band, cast: Cast) -> Band:
    """Revision 1 is published; Jon and Ida cover 1-3."""
    for order, name in enumerate(("Jon Pell", "Ida Voss"), 1):
        Cover.objects.create(spot=band.spots["1-3"], member=band.members[name], order=order)
    publish(band, cast.staff)
    return band


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


def test_choices_come_in_the_order_of_the_covers(out: Band) -> None:
    desk = open_desk(out.event)
    assert desk is not None
    found = choices(desk, out.members["Cai Ørnberg"])
    names = [desk.built.members[c.member].name for c in found if not c.is_chain]
    assert names == ["Jon Pell", "Ida Voss", "Kit Moss"]


def test_a_wish_sent_twice_is_done_once(out: Band, cast: Cast) -> None:
    same = wish(out, "Cai Ørnberg", "Jon Pell")
    first, second = ask(out, cast, same), ask(out, cast, same)
    assert first.change == second.change
    assert DayChange.objects.count() == 1
    assert queries.published(out.event).number == 2  # type: ignore[union-attr]
    assert Absence.objects.count() == 1


def test_two_fills_of_one_spot_become_one_card(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    outcome = ask(out, cast, wish(out, "Cai Ørnberg", "Ida Voss"))
    assert outcome.change is None and outcome.clash is not None
    assert at(out, "Halftime", "1-3") == "Jon Pell", "nobody is overwritten"
    clash = Clash.objects.get()
    assert (clash.standing, clash.wanted) == (out.members["Jon Pell"], out.members["Ida Voss"])

    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == at(out, "Pregame", "1-3") == "Ida Voss"
    with pytest.raises(Refused, match="already"):
        decide_clash(actor=cast.staff, clash=clash, take=False)


def test_a_card_can_be_left_as_it_stands(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    clash = ask(out, cast, wish(out, "Cai Ørnberg", "Ida Voss")).clash
    assert clash is not None
    assert decide_clash(actor=cast.staff, clash=clash, take=False).state == "kept"
    assert at(out, "Halftime", "1-3") == "Jon Pell"
    assert queries.published(out.event).number == 2  # type: ignore[union-attr]


def test_the_same_person_wanted_by_two_is_no_conflict(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    with pytest.raises(Refused, match="stands nowhere"):
        ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    assert not Clash.objects.exists()


def test_an_old_page_still_fills_what_nobody_touched(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    assert ask(out, cast, wish(out, "Gus Tamm", "Kit Moss", seen=1)).change is not None
    assert at(out, "Halftime", "2-2") == "Kit Moss"


def test_taking_back_puts_everybody_back_in_one_step(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    made = undo_change(actor=cast.staff, change=change)
    assert made.number == 3
    assert name_at(made, "Pregame", "1-3") == name_at(made, "Halftime", "1-3") == "Cai Ørnberg"
    assert Absence.objects.get().state == AbsenceState.WITHDRAWN
    with pytest.raises(Refused, match="already"):
        undo_change(actor=cast.staff, change=change)


def test_nothing_is_taken_back_over_a_later_change(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    ask(out, cast, wish(out, "Jon Pell", "Ida Voss", seen=2))
    with pytest.raises(Refused, match="changed hands"):
        undo_change(actor=cast.staff, change=change)
    assert at(out, "Halftime", "1-3") == "Ida Voss"


def test_who_is_back_is_shown_and_moves_nothing(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    desk = open_desk(out.event)
    assert desk is not None and who_is_back(desk) == []
    withdraw_absence(actor=cast.staff, absence=Absence.objects.get())
    desk = open_desk(out.event)
    assert desk is not None and who_is_back(desk) == [change]
    assert at(out, "Halftime", "1-3") == "Jon Pell"


def test_nobody_may_be_the_answer(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Hal Brook", None))
    assert at(out, "Pregame", "2-3") == at(out, "Halftime", "2-3") == "nobody"


def test_who_cannot_march_it_cannot_step_in(out: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match="no longer"):
        ask(out, cast, wish(out, "Cai Ørnberg", "Dee Quill"))
    assert not Absence.objects.exists(), "nothing of a refused wish is kept"


def test_a_chain_moves_the_holder_and_fills_theirs(out: Band, cast: Cast) -> None:
    """Kit alone is free for rank 2; Gus knows 1-3 already, so the chain costs no sets."""
    for name in ("Jon Pell", "Ida Voss"):
        say_out(out, cast, name)
    from drill.models import DrillSet, Practice, Show, ShowVersion

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


def test_taking_back_brings_a_pin_back_unless_somebody_else_is_pinned(
    out: Band, cast: Cast
) -> None:
    cai, spot = out.members["Cai Ørnberg"], out.spots["1-3"]
    for pinned_since in (False, True):
        Pin.objects.update_or_create(event=out.event, spot=spot, defaults={"member": cai})
        seen = queries.published(out.event).number  # type: ignore[union-attr]
        change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell", seen=seen)).change  # type: ignore[arg-type]
        assert change is not None and not Pin.objects.exists()
        if pinned_since:
            Pin.objects.create(event=out.event, spot=spot, member=out.members["Ida Voss"])
        undo_change(actor=cast.staff, change=change)
        assert Pin.objects.get().member.name == ("Ida Voss" if pinned_since else "Cai Ørnberg")


def test_the_draft_of_staff_is_kept_beside_the_change(out: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=out.event)
    place_by_hand(
        actor=cast.staff,
        event=out.event,
        seen_version=draft.version,
        segment=out.halftime,
        spot=out.spots["2-2"],
        member=out.members["Kit Moss"],
    )
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    assert at(out, "Halftime", "2-2") == "Gus Tamm", "the draft is not published by it"
    kept = queries.draft(out.event)
    assert kept is not None
    assert name_at(kept, "Halftime", "2-2") == "Kit Moss"
    assert name_at(kept, "Halftime", "1-3") == "Jon Pell", "the draft follows the change"


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


def test_a_wish_that_was_taken_back_is_not_said_to_be_done(out: Band, cast: Cast) -> None:
    same = wish(out, "Cai Ørnberg", "Jon Pell")
    change = ask(out, cast, same).change
    assert change is not None
    undo_change(actor=cast.staff, change=change)
    with pytest.raises(Refused, match=r"taken back at \d\d:\d\d: open the desk again"):
        ask(out, cast, same)
    assert queries.published(out.event).number == 3  # type: ignore[union-attr]


def two_fills(out: Band, cast: Cast) -> Clash:
    """Jon stands at 1-3; somebody with an old page wants Ida there."""
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    clash = ask(out, cast, wish(out, "Cai Ørnberg", "Ida Voss")).clash
    assert clash is not None
    return clash


def test_a_choice_overwrites_nobody_whom_the_card_does_not_name(out: Band, cast: Cast) -> None:
    clash = two_fills(out, cast)
    ask(out, cast, wish(out, "Jon Pell", "Kit Moss", seen=2))
    with pytest.raises(Refused, match="1-3 has changed hands again"):
        decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == "Kit Moss"
    assert decide_clash(actor=cast.staff, clash=clash, take=False).state == "kept"


def test_a_choice_opens_no_hole_elsewhere(out: Band, cast: Cast) -> None:
    clash = two_fills(out, cast)
    ask(out, cast, wish(out, "Bo Larkspur", "Ida Voss", seen=2))
    with pytest.raises(Refused, match="Ida Voss marches another spot by now"):
        decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-2") == "Ida Voss"


def test_that_somebody_is_out_is_kept_when_two_filled_their_spot(out: Band, cast: Cast) -> None:
    """Staff had put Jon there for a reason of their own: nobody had said that Cai is out."""
    for segment in (out.pregame, out.halftime):
        draft = open_draft(actor=cast.staff, event=out.event)
        place_by_hand(
            actor=cast.staff,
            event=out.event,
            seen_version=draft.version,
            segment=segment,
            spot=out.spots["1-3"],
            member=out.members["Jon Pell"],
        )
    draft.refresh_from_db()
    publish_lineup(actor=cast.staff, event=out.event, seen_version=draft.version, seen_number=1)
    outcome = ask(out, cast, wish(out, "Cai Ørnberg", "Ida Voss", seen=1))
    assert outcome.clash is not None
    assert Absence.objects.get().member == out.members["Cai Ørnberg"]


def test_news_stays_on_the_card_when_a_later_revision_concerns_others(
    out: Band, cast: Cast, signed_in: Any
) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    ask(out, cast, wish(out, "Gus Tamm", "Kit Moss", seen=2))
    jon = out.members["Jon Pell"]
    leader = signed_in(cast.leader).get(reverse("my-rank"))
    assert "Jon Pell" in {n.member.name for n in leader.context["notices"]}
    page = signed_in(account_of(jon)).get(reverse("card"))
    assert "Revision 2: what changed for you" in page.content.decode()
    notice = change.after.notices.get(member=jon)
    assert notice.state == NoticeState.SEEN and notice.seen_at is not None
    confirm = reverse("notice-confirm", args=[notice.pk])
    assert confirm in page.content.decode()
    leader = signed_in(cast.leader).get(reverse("my-rank"))
    assert "Jon Pell" not in {n.member.name for n in leader.context["notices"]}


def test_a_page_of_an_edit_that_was_taken_back_stays_old(out: Band, cast: Cast) -> None:
    """Version numbers only rise: nobody publishes what they have not seen."""

    def put(spot: str, name: str) -> int:
        draft = open_draft(actor=cast.staff, event=out.event)
        place_by_hand(
            actor=cast.staff,
            event=out.event,
            seen_version=draft.version,
            segment=out.halftime,
            spot=out.spots[spot],
            member=out.members[name],
        )
        draft.refresh_from_db()
        return draft.version

    seen = put("1-3", "Jon Pell")
    batch = AuditEntry.objects.exclude(batch="").order_by("-pk")[0].batch
    undo.take_back(actor=cast.staff, batch=batch)
    assert put("2-2", "Kit Moss") > seen
    with pytest.raises(Overtaken, match="changed meanwhile"):
        publish_lineup(actor=cast.staff, event=out.event, seen_version=seen, seen_number=1)


def test_a_notice_that_no_mail_takes_is_to_be_told_in_person(
    out: Band, cast: Cast, monkeypatch: pytest.MonkeyPatch, settings: Any
) -> None:
    settings.JOBS_RUN_IN = "later"
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))

    def refused(*args: object, **more: object) -> None:
        raise ConnectionRefusedError("no mail")

    monkeypatch.setattr(notices, "send_mail", refused)
    started = timezone.now()
    for hour in range(MAX_ATTEMPTS):
        with time_machine.travel(started + datetime.timedelta(hours=hour), tick=False):
            for job in waiting_jobs():
                run_job(job)
    lineup = queries.published(out.event)
    assert lineup is not None
    names = {n.member.name for n in queries.unreached(lineup) if n.lineup == lineup}
    assert names == {"Cai Ørnberg", "Jon Pell", "Ana Núñez"}
