"""What each reader finds behind a calendar address."""

from __future__ import annotations

import datetime
import re
from zoneinfo import ZoneInfo

import icalendar
import pytest
import time_machine
from django.test import Client

from bandops.lib.accounts.models import User
from drill.absences.services.absences import Report, report_absence
from drill.events.models import Event, Segment
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import take_proposal
from roster.people.enums import Role
from roster.people.models import Member, RoleGrant
from roster.ranks.models import Holding
from tests.architecture.world import publish
from tests.drill.calendars.calendar_reading import challenge_round, feed_url, game, read, rehearsal
from tests.factories import Band, Cast
from tests.lib.calendars_help import in_utc

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("days and moments are compared")]


def text_of(band: Band, user: User) -> list[str]:
    return str(game(band, user)["DESCRIPTION"]).split("\n")


def replaced(band: Band, cast: Cast) -> None:
    """Cai is out and somebody stands in, by the second revision; Dee's spot stays open."""
    publish(band, cast.staff)
    for name in ("Cai Ørnberg", "Dee Quill"):
        values = {"kind": "out", "event": band.event, "category": "health"}
        report_absence(actor=cast.staff, report=Report(band.members[name], values), by_staff=True)
    draft = open_draft(actor=cast.staff, event=band.event)
    take_proposal(actor=cast.staff, event=band.event, seen_version=draft.version)
    publish(band, cast.staff, 1)


def test_a_member_reads_times_uniform_place_and_own_spot(band: Band, cast: Cast) -> None:
    band.event.uniform, band.event.venue = "full uniform; white gloves", "Lantern Field, gate 4"
    band.event.save()
    before = text_of(band, cast.member)
    assert before == [
        "Call 11:00 AM CDT",
        "Pregame 2:00 to 2:20 PM CDT",
        "Halftime 4:00 to 4:20 PM CDT",
        "Stands 5:00 to 6:00 PM CDT",
        "Uniform: full uniform; white gloves",
        "The lineup is not published yet.",
    ]
    with time_machine.travel(datetime.datetime(2099, 10, 14, 20, 5, tzinfo=datetime.UTC)):
        publish(band, cast.staff)
    event = game(band, cast.member)
    assert str(event["SUMMARY"]) == "Pellowick at home"
    assert str(event["LOCATION"]) == "Lantern Field, gate 4"
    assert event["SEQUENCE"] == 1
    assert datetime.datetime(2099, 10, 14, 20, 5, tzinfo=datetime.UTC) == event.DTSTAMP
    zone = band.event.zone
    assert event.start == datetime.datetime(2099, 10, 17, 11, tzinfo=zone)
    assert event.end == datetime.datetime(2099, 10, 17, 18, tzinfo=zone)
    after = text_of(band, cast.member)
    assert after[1:3] == [
        "Pregame 2:00 to 2:20 PM CDT: you march 1-3 (Trumpet)",
        "Halftime 4:00 to 4:20 PM CDT: you march 1-3 (Trumpet)",
    ]
    assert after[-1] == "Lineup: revision 1, published Wed, Oct 14, 2099, 3:05 PM CDT"


def test_a_member_reads_no_name_and_no_absence(band: Band, cast: Cast) -> None:
    replaced(band, cast)
    event = game(band, cast.member)
    assert event["SEQUENCE"] == 2
    text = "\n".join(text_of(band, cast.member))
    assert "Pregame 2:00 to 2:20 PM CDT: you do not march" in text
    content = Client().get(feed_url(cast.member)).content.decode()
    names = [m.name for m in Member.objects.select_related("person")]
    assert not [n for n in names if n in content]
    assert not re.search(r"\b(out|health|absen|unavailable|stands? in)\b", content, re.I)


def test_a_stand_in_reads_where(band: Band, cast: Cast) -> None:
    ida, cai = band.members["Ida Voss"].person, band.members["Cai Ørnberg"].person
    cai.user = None
    cai.save()
    ida.user = cast.member
    ida.save()
    replaced(band, cast)
    assert text_of(band, cast.member)[1].endswith(": you stand in at 1-3 (Trumpet)")


def test_a_leader_reads_who_stands_in_within_the_own_rank(band: Band, cast: Cast) -> None:
    replaced(band, cast)
    lines = text_of(band, cast.leader)
    assert "Rank 1: 1 stands in: Ida Voss at 1-3 (Pregame, Halftime)" in lines
    assert "Rank 1: open: 1-4 (Pregame, Halftime)" in lines
    assert "Pregame 2:00 to 2:20 PM CDT: you march 1-1 (Trumpet)" in lines
    band.ranks["1"].leader = None
    band.ranks["1"].save()
    band.ranks["2"].leader = Member.objects.get(person__user=cast.leader)
    band.ranks["2"].save()
    assert "Ida Voss" not in "\n".join(text_of(band, cast.leader))


def test_a_former_holder_counts_as_a_stand_in(band: Band, cast: Cast) -> None:
    publish(band, cast.staff)
    lines = text_of(band, cast.leader)
    assert not [line for line in lines if "stand" in line and "Rank" in line]
    Holding.objects.filter(spot=band.spots["1-2"]).update(ends=band.event.date)
    assert "Rank 1: 1 stands in: Bo Larkspur at 1-2 (Pregame, Halftime)" in text_of(
        band, cast.leader
    )


def test_the_blocks_of_a_rehearsal_are_for_leaders_and_staff(band: Band, cast: Cast) -> None:
    key = f"event-{rehearsal(band).pk}"
    for user in (cast.leader, cast.staff):
        assert str(read(user)[key]["DESCRIPTION"]).split("\n") == [
            "6:00 to 6:50 PM CDT: pregame, sets 1 to 8, lower field",
            "7:00 to 7:50 PM CDT: run it, lower field",
        ]
    mine = read(cast.member)[key]
    assert isinstance(mine.start, datetime.datetime) and isinstance(mine.end, datetime.datetime)
    assert (mine.start.hour, mine.end.hour, mine.end.minute) == (18, 19, 50)
    assert "DESCRIPTION" not in mine


def test_staff_read_cut_offs_and_challenges(band: Band, cast: Cast) -> None:
    publish(band, cast.staff)
    band.event.cut_off = datetime.datetime(2099, 10, 16, 22, tzinfo=datetime.UTC)
    band.event.save()
    held = challenge_round(band)
    found = read(cast.staff)
    cut_off = found[f"cut-off-{band.event.pk}"]
    assert str(cut_off["SUMMARY"]) == "Cut-off: Pellowick at home"
    assert in_utc(cut_off.start) == band.event.cut_off
    assert str(found[f"challenge-closes-{held.pk}"]["SUMMARY"]) == "Week 9: sign-up closes"
    challenges = found[f"challenge-{held.pk}"]
    assert in_utc(challenges.start) == held.held_at
    assert "A win counts from Pellowick at home." in str(challenges["DESCRIPTION"])
    assert "Open spots, all segments: 0" in text_of(band, cast.staff)
    for user in (cast.member, cast.leader, cast.equipment):
        assert not [uid for uid in read(user) if not uid.startswith("event-")]


def test_an_evaluator_reads_when_challenges_are_and_nothing_else(band: Band, cast: Cast) -> None:
    publish(band, cast.staff)
    held = challenge_round(band)
    found = read(cast.evaluator)
    assert list(found) == [f"challenge-{held.pk}"]
    assert "Pellowick" not in Client().get(feed_url(cast.evaluator)).content.decode()
    RoleGrant.objects.create(user=cast.member, season=band.season, role=Role.EVALUATOR)
    assert {f"challenge-{held.pk}", f"event-{band.event.pk}"} == set(read(cast.member))


def test_what_goes_past_midnight_ends_on_the_next_day(band: Band, cast: Cast) -> None:
    Segment.objects.filter(pk=band.stands.pk).update(starts="23:30", ends="00:30")
    entry = game(band, cast.member)
    zone = ZoneInfo("America/Chicago")
    assert entry.end == datetime.datetime(2099, 10, 18, 0, 30, tzinfo=zone)
    assert "Stands 11:30 PM to 12:30 AM CDT" in str(entry["DESCRIPTION"])


def test_an_end_in_the_hour_that_comes_twice_is_the_one_that_was_chosen(
    band: Band, cast: Cast
) -> None:
    Event.objects.filter(pk=band.event.pk).update(date="2099-10-31")
    night = {"starts": "23:30", "ends": "01:30", "ends_fold": True}
    Segment.objects.filter(pk=band.stands.pk).update(**night)
    lasts = timedelta_of(game(band, cast.member))
    assert lasts == datetime.timedelta(hours=15, minutes=30), "11 AM to the second 1:30 AM"


def timedelta_of(entry: icalendar.Event) -> datetime.timedelta:
    first, last = entry.start, entry.end
    assert isinstance(first, datetime.datetime) and isinstance(last, datetime.datetime)
    return last.astimezone(datetime.UTC) - first.astimezone(datetime.UTC)
