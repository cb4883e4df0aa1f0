"""The game-day desk works by segment: what is not named, and what is over, stays as it is."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from drill.absences.enums import AbsenceKind, AbsenceState
from drill.absences.models import Absence
from drill.absences.services.standings import availability_by_segment
from drill.gameday.models import Clash, DayChange
from drill.gameday.services.clashes import decide_clash
from drill.gameday.services.desk import who_is_back
from drill.gameday.services.fills import undo_change
from drill.gameday.services.missing import missing
from drill.lineup.models import Pin
from roster.people.enums import MemberStatus, Standing
from tests.answers import text
from tests.drill.gameday.gameday_desk import ask, at, number, open_wish, out, wish
from tests.drill.gameday.gameday_desk import opened as desk_of
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
SignIn = Callable[[User | None], Client]
CAI, JON = "Cai Ørnberg", "Jon Pell"


def words(band: Band, name: str) -> dict[str, str]:
    """Segment -> what is said of the member there."""
    found = availability_by_segment(band.event, [band.members[name]])
    names = {s.pk: s.name for s in band.event.segments.all()}
    return {names[segment]: word for (_, segment), word in found.items()}


@pytest.fixture
def three(out: Band) -> Iterator[Band]:
    """Three o'clock on the day: pregame is over, halftime is to come."""
    with time_machine.travel(out.event.local(datetime.time(15)), tick=False):
        yield out


def test_out_for_one_segment_touches_that_segment_only(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, CAI, JON, segments=[out.halftime])).change
    assert change is not None and len(change.seats) == 1
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (CAI, JON)
    assert words(out, CAI) == {"Halftime": "out"}
    assert Absence.objects.get().segment == out.halftime


def test_out_for_all_segments_is_one_entry_for_the_event(out: Band, cast: Cast) -> None:
    segments = [out.pregame, out.halftime, out.stands]
    ask(out, cast, wish(out, CAI, JON, segments=segments))
    assert Absence.objects.get().segment is None
    assert words(out, CAI) == dict.fromkeys(("Pregame", "Halftime", "Stands"), "out")


def test_undo_takes_back_exactly_what_was_done(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, JON, segments=[out.pregame]))
    change = ask(out, cast, wish(out, CAI, "Ida Voss", 2, segments=[out.halftime])).change
    assert change is not None
    undo_change(actor=cast.staff, change=change)
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (JON, CAI)
    assert words(out, CAI) == {"Pregame": "out"}


def test_several_segments_are_taken_back_together(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, CAI, JON, segments=[out.halftime, out.stands])).change
    assert change is not None and Absence.objects.count() == 2
    undo_change(actor=cast.staff, change=change)
    assert words(out, CAI) == {}


def test_a_segment_that_is_over_is_never_touched(three: Band, cast: Cast) -> None:
    ask(three, cast, wish(three, CAI, JON))
    assert (at(three, "Pregame", "1-3"), at(three, "Halftime", "1-3")) == (CAI, JON)
    assert words(three, CAI) == {"Halftime": "out", "Stands": "out"}
    with pytest.raises(Refused, match="Pregame: this is over"):
        ask(three, cast, wish(three, "Gus Tamm", "Kit Moss", 2, segments=[three.pregame]))


def test_a_segment_ends_by_the_clock_of_its_event(out: Band, cast: Cast) -> None:
    """14:20 in Chicago is 19:20 in Greenwich."""
    end = datetime.datetime(2099, 10, 17, 19, 20, tzinfo=datetime.UTC)
    with time_machine.travel(end - datetime.timedelta(seconds=1), tick=False):
        assert {s.name for s in desk_of(out).clock.left} == {"Pregame", "Halftime", "Stands"}
    with time_machine.travel(end, tick=False):
        assert {s.name for s in desk_of(out).clock.left} == {"Halftime", "Stands"}


def test_a_segment_after_midnight_is_over_on_the_next_day(out: Band, cast: Cast) -> None:
    out.halftime.starts, out.halftime.ends = datetime.time(23, 50), datetime.time(0, 10)
    out.halftime.save()
    with time_machine.travel(out.event.local(datetime.time(23, 55)), tick=False):
        assert "Halftime" in {s.name for s in desk_of(out).clock.left}
    late = out.event.local(datetime.time(0, 10)) + datetime.timedelta(days=1)
    with time_machine.travel(late, tick=False):
        assert "Halftime" in {s.name for s in desk_of(out).clock.over}


def test_a_wish_that_was_under_way_leaves_out_what_is_over(
    three: Band, cast: Cast, signed_in: SignIn
) -> None:
    form = {"out": three.members[CAI].pk, "in": three.members[JON].pk, "number": 1}
    form |= {"segments": f"{three.pregame.pk},{three.halftime.pk}"}  # type: ignore[dict-item]
    url = reverse("desk-fill", args=[three.event.pk])
    page = signed_in(cast.staff).post(url, form, follow=True).content.decode()
    assert "Cai Ørnberg is out of Halftime: Jon Pell steps in." in page
    assert "Pregame: already over, so nothing changed there." in page
    assert at(three, "Pregame", "1-3") == CAI


def test_what_is_over_stays_when_a_change_is_taken_back(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, CAI, JON)).change
    assert change is not None
    with time_machine.travel(out.event.local(datetime.time(15)), tick=False):
        undo_change(actor=cast.staff, change=change)
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (JON, CAI)
    assert words(out, CAI) == {"Pregame": "out"}, "they did miss pregame"


def test_nothing_is_taken_back_when_all_is_over(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, CAI, JON, segments=[out.pregame])).change
    assert change is not None
    with (
        time_machine.travel(out.event.local(datetime.time(15)), tick=False),
        pytest.raises(Refused, match="already over"),
    ):
        undo_change(actor=cast.staff, change=change)


def test_a_pin_goes_on_in_the_other_segments_and_comes_back_whole(out: Band, cast: Cast) -> None:
    Pin.objects.create(event=out.event, spot=out.spots["1-3"], member=out.members[CAI])
    change = ask(out, cast, wish(out, CAI, JON, segments=[out.halftime])).change
    assert change is not None
    assert Pin.objects.get().segment == out.pregame
    undo_change(actor=cast.staff, change=change)
    assert Pin.objects.get().segment is None


def test_a_change_of_another_segment_is_no_clash(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, JON, segments=[out.pregame]))
    late = wish(out, CAI, "Ida Voss", seen=1, segments=[out.halftime])
    assert ask(out, cast, late).change is not None
    assert not Clash.objects.exists()
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (JON, "Ida Voss")


def test_late_touches_only_the_segments_that_it_touches(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    Absence.objects.create(
        member=out.members[CAI],
        event=out.event,
        kind=AbsenceKind.LATE,
        late_until=datetime.time(14, 30),
    )
    page = signed_in(cast.staff).get(reverse("desk"))
    [(line, where, _)] = page.context["missing"]
    assert (line.member.name, where, line.why) == (CAI, "1-3 (Pregame)", "late until 2:30 PM")
    chosen = f"?segments={out.pregame.pk}"
    assert f"/out/{out.members[CAI].pk}/{chosen}" in page.content.decode()
    url = reverse("desk-out", args=[out.event.pk, out.members[CAI].pk])
    assert signed_in(cast.staff).get(url + chosen).context["seats"] == ["Pregame 1-3"]


def test_open_spots_are_listed_by_segment_and_filled(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    ask(out, cast, wish(out, CAI, None, segments=[out.halftime]))
    staff = signed_in(cast.staff)
    page = staff.get(reverse("desk"))
    assert [(str(o.spot), o.where) for o in page.context["open"]] == [("1-3", "Halftime")]
    fill = reverse("desk-open", args=[out.event.pk, out.spots["1-3"].pk])
    assert f'href="{fill}"' in page.content.decode()
    kept = page.context["offline"]["opens"][str(out.spots["1-3"].pk)]
    jon = out.members[JON].pk
    assert kept["segments"] == [out.halftime.pk] and kept["choices"][0] == [jon, []]
    choices = staff.get(fill).context["choices"]
    assert [c["member"].name for c in choices] == [JON, "Ida Voss", "Kit Moss"]

    form = {"spot": out.spots["1-3"].pk, "in": jon, "number": 2, "moves": choices[0]["moves"]}
    staff.post(reverse("desk-fill", args=[out.event.pk]), form)
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (CAI, JON)
    assert staff.get(reverse("desk")).context["open"] == []
    assert Absence.objects.get().member == out.members[CAI], "nobody else is said to be out"


def test_an_open_spot_that_somebody_else_filled_becomes_one_card(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, None))
    ask(out, cast, open_wish(out, "1-3", JON, 2))
    clash = ask(out, cast, open_wish(out, "1-3", "Ida Voss", 2)).clash
    assert clash is not None and clash.standing == out.members[JON]
    with pytest.raises(Refused, match="1-3 is no longer open in Pregame, Halftime"):
        ask(out, cast, open_wish(out, "1-3", "Ida Voss", 3))


def test_a_card_decided_late_leaves_what_is_over(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, JON))
    clash = ask(out, cast, wish(out, CAI, "Ida Voss")).clash
    assert clash is not None
    with time_machine.travel(out.event.local(datetime.time(15)), tick=False):
        decide_clash(actor=cast.staff, clash=clash, take=True)
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (JON, "Ida Voss")


def test_a_button_does_what_its_line_said_or_nothing(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    """Ida was to take both segments; since then she marches 1-2 at halftime."""
    staff = signed_in(cast.staff)
    page = staff.get(reverse("desk-out", args=[out.event.pk, out.members[CAI].pk]))
    line = next(c for c in page.context["choices"] if c["member"].name == "Ida Voss")
    assert line["lacking"] == []
    ask(out, cast, wish(out, "Bo Larkspur", "Ida Voss", segments=[out.halftime]))
    form = {"out": out.members[CAI].pk, "in": line["member"].pk, "number": 1}
    url = reverse("desk-fill", args=[out.event.pk])
    answer = staff.post(url, form | {"moves": line["moves"]}, follow=True).content.decode()
    assert "Ida Voss already marches another spot. Cai Ørnberg is marked out." in answer
    assert at(out, "Halftime", "1-3") == CAI
    staff.post(url, form | {"moves": "1.2"})
    assert number(out) == 2


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({"status": MemberStatus.LEFT}, "left the band"),
        ({"status": MemberStatus.ON_LEAVE}, "on leave"),
        ({"cleared": Standing.NO}, "not cleared"),
        ({"eligible": Standing.NO}, "not eligible"),
    ],
)
def test_whoever_is_missing_is_listed_and_can_be_filled(
    out: Band, cast: Cast, signed_in: SignIn, values: dict[str, str], why: str
) -> None:
    cai = out.members[CAI]
    type(cai).objects.filter(pk=cai.pk).update(**values)
    [line] = missing(desk_of(out))
    assert (line.member.name, line.word, line.why) == (CAI, "out", why)
    assert len(line.seats) == 2
    # A leader learns that they are out, and not why.
    leader = signed_in(cast.leader).get(reverse("my-rank"))
    rows = leader.context["lineup"].rows.filter(pk__in=leader.context["rows"]["out"])
    assert {row.member.name for row in rows} == {CAI}
    assert why not in leader.content.decode()
    assert ask(out, cast, wish(out, "Gus Tamm", "Kit Moss", segments=[out.pregame])).change
    assert at(out, "Halftime", "1-3") == CAI, "others wait for their own decision"
    assert ask(out, cast, wish(out, CAI, JON, 2)).change is not None
    assert missing(desk_of(out)) == []


def test_a_class_is_a_reason_for_staff(out: Band, cast: Cast, signed_in: SignIn) -> None:
    Absence.objects.create(
        member=out.members[CAI],
        event=out.event,
        segment=out.halftime,
        kind=AbsenceKind.OUT,
        category="class",
    )
    [line] = missing(desk_of(out))
    assert line.why == "class or exam" and len(line.seats) == 1
    assert "class or exam" not in signed_in(cast.leader).get(reverse("my-rank")).content.decode()


@pytest.mark.parametrize("chance", ["0.30", "0.50", "0.90"])
def test_doubtful_stays_doubtful(out: Band, cast: Cast, signed_in: SignIn, chance: str) -> None:
    Absence.objects.create(
        member=out.members[CAI], event=out.event, kind=AbsenceKind.DOUBTFUL, chance=chance
    )
    desk = signed_in(cast.staff).get(reverse("desk"))
    standing = {s.member.name: s.word for _, people, _ in desk.context["ranks"] for s in people}
    assert standing[CAI] == "doubtful"
    assert [m.word for m, *_ in desk.context["missing"]] == ["doubtful"]
    page = text(signed_in(cast.leader).get(reverse("my-rank")))
    assert "doubtful" in page and "unavailable</span>" not in page
    assert chance not in page and chance.rstrip("0") not in page
    ask(out, cast, wish(out, CAI, JON))
    assert words(out, CAI)["Halftime"] == "out", "said at the desk, it is sure"


def test_the_leader_sees_out_in_the_segment_it_is_about(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    Absence.objects.create(
        member=out.members[CAI], event=out.event, segment=out.halftime, kind=AbsenceKind.OUT
    )
    page = signed_in(cast.leader).get(reverse("my-rank"))
    rows = page.context["lineup"].rows.filter(pk__in=page.context["rows"]["out"])
    assert [r.segment for r in rows] == [out.halftime]


def test_who_is_back_for_what_is_left_can_be_put_back(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, CAI, JON)).change
    with time_machine.travel(out.event.local(datetime.time(15)), tick=False):
        Absence.objects.create(
            member=out.members[CAI], event=out.event, segment=out.halftime, kind=AbsenceKind.IN
        )
        assert [b.change for b in who_is_back(desk_of(out))] == [change]


def test_withdrawn_entries_of_a_change_are_left_alone(out: Band, cast: Cast) -> None:
    change = ask(out, cast, wish(out, CAI, JON, segments=[out.halftime])).change
    assert change is not None
    Absence.objects.update(state=AbsenceState.WITHDRAWN)
    undo_change(actor=cast.staff, change=change)
    assert Absence.objects.get().state == AbsenceState.WITHDRAWN
    assert DayChange.objects.get().undone_at is not None


def test_segments_of_another_event_are_refused(out: Band, cast: Cast, signed_in: SignIn) -> None:
    form = {"out": out.members[CAI].pk, "number": 1, "segments": str(10**7)}
    url = reverse("desk-fill", args=[out.event.pk])
    staff = signed_in(cast.staff)
    assert "choose the segments again" in staff.post(url, form, follow=True).content.decode()
    form["segments"] = "x"
    assert "is incomplete" in staff.post(url, form, follow=True).content.decode()
    assert number(out) == 1
