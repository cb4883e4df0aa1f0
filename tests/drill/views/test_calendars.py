"""Calendar addresses: whose, how long, and what each reader finds behind one."""

from __future__ import annotations

import datetime
import re

import icalendar
import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import unlocked
from drill.models import CalendarFeed, ContestRound, Event, RehearsalBlock
from drill.services import events as event_services
from drill.services.absences import Report, report_absence
from drill.services.calendars import address_of
from drill.services.lineups import open_draft, take_proposal
from roster.enums import MemberStatus, Role
from roster.models import Holding, Member, RoleGrant
from tests.architecture.many import grow
from tests.architecture.world import client_of, publish
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("days and moments are compared")]


def feed_url(user: User) -> str:
    feed, _ = CalendarFeed.objects.get_or_create(user=user, revoked_at=None)
    return reverse("calendar-feed", args=[feed.token])


def read(user: User) -> dict[str, icalendar.Event]:
    """What an outsider with the address gets, by the start of the id."""
    response = Client().get(feed_url(user))
    assert response.status_code == 200
    events = icalendar.Calendar.from_ical(response.content).events
    return {str(event["UID"]).split("@")[0]: event for event in events}


def game(band: Band, user: User) -> icalendar.Event:
    return read(user)[f"event-{band.event.pk}"]


def text_of(band: Band, user: User) -> list[str]:
    return str(game(band, user)["DESCRIPTION"]).split("\n")


def rehearsal(band: Band) -> Event:
    made = Event.objects.create(
        season=band.season,
        name="Thursday",
        kind="rehearsal",
        date=datetime.date(2099, 10, 15),
        time_zone="America/Chicago",
    )
    for hour, what in ((18, "pregame, sets 1 to 8"), (19, "run it")):
        RehearsalBlock.objects.create(
            event=made,
            starts=datetime.time(hour),
            ends=datetime.time(hour, 50),
            what=what,
            where="lower field",
        )
    return made


def contest_round(band: Band) -> ContestRound:
    noon = datetime.datetime(2099, 10, 12, 17, tzinfo=datetime.UTC)
    return ContestRound.objects.create(
        season=band.season,
        name="Week 9",
        opens_at=noon - datetime.timedelta(days=2),
        closes_at=noon,
        held_at=noon + datetime.timedelta(days=1),
        effective=band.event,
    )


def replaced(band: Band, cast: Cast) -> None:
    """Cai is out and somebody stands in, by the second revision; Dee's spot stays open."""
    publish(band, cast.staff)
    for name in ("Cai Ørnberg", "Dee Quill"):
        values = {"kind": "out", "event": band.event, "category": "health"}
        report_absence(actor=cast.staff, report=Report(band.members[name], values), by_staff=True)
    draft = open_draft(actor=cast.staff, event=band.event)
    take_proposal(actor=cast.staff, event=band.event, seen_version=draft.version)
    publish(band, cast.staff, 1)


# The address


def test_an_address_is_made_shown_and_switched_off(cast: Cast) -> None:
    client, page = client_of(cast, "member"), reverse("calendar")
    assert "You have no calendar address" in client.get(page).content.decode()
    assert not CalendarFeed.objects.exists(), "looking makes nothing"
    client.post(page, {"what": "new"})
    feed = CalendarFeed.objects.get()
    assert feed.user == cast.member and len(feed.token) >= 43
    assert address_of(feed) in client.get(page).content.decode()
    assert Client().get(reverse("calendar-feed", args=[feed.token])).status_code == 200
    client.post(page, {"what": "off", "feed": feed.pk})
    assert Client().get(reverse("calendar-feed", args=[feed.token])).status_code == 404
    assert "You have no calendar address" in client.get(page).content.decode()


def test_a_new_address_ends_the_old_one_and_a_form_sent_twice_makes_one(cast: Cast) -> None:
    client, page = client_of(cast, "member"), reverse("calendar")
    client.post(page, {"what": "new"})
    old = CalendarFeed.objects.get()
    for _ in range(2):
        client.post(page, {"what": "new", "feed": old.pk})
    assert CalendarFeed.objects.filter(user=cast.member).count() == 2
    new = CalendarFeed.objects.get(revoked_at=None)
    assert new.token != old.token
    codes = [Client().get(reverse("calendar-feed", args=[f.token])) for f in (old, new)]
    assert [response.status_code for response in codes] == [404, 200]


def test_nobody_touches_the_address_of_another(cast: Cast) -> None:
    theirs = CalendarFeed.objects.create(user=cast.other)
    client, page = client_of(cast, "member"), reverse("calendar")
    for what in ("new", "off", "?"):
        client.post(page, {"what": what, "feed": theirs.pk})
    assert theirs.token not in client.get(page).content.decode()
    theirs.refresh_from_db()
    assert theirs.revoked_at is None


def test_the_audit_notes_it_without_the_token(cast: Cast) -> None:
    client_of(cast, "member").post(reverse("calendar"), {"what": "new"})
    (entry,) = AuditEntry.objects.filter(table="drill_calendarfeed")
    assert (entry.action, entry.actor_id) == ("make calendar address", cast.member.pk)
    assert CalendarFeed.objects.get().token not in f"{entry.before}{entry.after}"


@pytest.mark.parametrize("token", ["x", "a" * 43, "%00", "..", "a" * 5000])
def test_an_unknown_address_is_not_found(cast: Cast, token: str) -> None:
    assert Client().get(f"/calendar/{token}.ics").status_code == 404


def test_whoever_is_gone_has_no_calendar(band: Band, cast: Cast) -> None:
    urls = {name: feed_url(cast.named(name)) for name in ("member", "staff", "leader")}  # type: ignore[arg-type]
    client = Client()
    assert [client.get(url).status_code for url in urls.values()] == [200] * 3
    Member.objects.filter(person__user=cast.member).update(status=MemberStatus.LEFT)
    RoleGrant.objects.filter(user=cast.staff).delete()
    User.objects.filter(pk=cast.leader.pk).update(is_active=False)
    assert [client.get(url).status_code for url in urls.values()] == [404] * 3


def test_an_answer_that_did_not_change_is_not_sent_again(band: Band, cast: Cast) -> None:
    url = feed_url(cast.member)
    first = Client().get(url)
    assert first["Content-Type"] == "text/calendar; charset=utf-8"
    assert first["Cache-Control"] == "private, no-cache"
    assert "Cookie" not in first.get("Vary", "")
    with time_machine.travel(timezone.now() + datetime.timedelta(days=40)):
        again = Client().get(url, headers={"if-none-match": first["ETag"]})
        assert (again.status_code, again.content) == (304, b"")
        assert Client().get(url).content == first.content, "the same data, the same bytes"
    event_services.save_event(actor=cast.staff, event=_renamed(band.event))
    third = Client().get(url, headers={"if-none-match": first["ETag"]})
    assert third.status_code == 200 and third["ETag"] != first["ETag"]


def _renamed(event: Event) -> Event:
    event.name = "Brackenfield, moved to Sunday"
    return event


# What it says


def test_a_member_reads_times_dress_place_and_own_spot(band: Band, cast: Cast) -> None:
    band.event.dress, band.event.venue = "full dress; white gloves", "Lantern Field, gate 4"
    band.event.save()
    before = text_of(band, cast.member)
    assert before == [
        "Call 11:00 AM",
        "Pregame 2:00 PM to 2:20 PM",
        "Halftime 4:00 PM to 4:20 PM",
        "Stands 5:00 PM to 6:00 PM",
        "Dress: full dress; white gloves",
        "The lineup is not published yet.",
    ]
    with time_machine.travel(datetime.datetime(2099, 10, 14, 20, 5, tzinfo=datetime.UTC)):
        publish(band, cast.staff)
    event = game(band, cast.member)
    assert str(event["SUMMARY"]) == "Brackenfield at home"
    assert str(event["LOCATION"]) == "Lantern Field, gate 4"
    assert event["SEQUENCE"] == 1
    assert datetime.datetime(2099, 10, 14, 20, 5, tzinfo=datetime.UTC) == event.DTSTAMP
    zone = band.event.zone
    assert event.start == datetime.datetime(2099, 10, 17, 11, tzinfo=zone)
    assert event.end == datetime.datetime(2099, 10, 17, 18, tzinfo=zone)
    after = text_of(band, cast.member)
    assert after[1:3] == [
        "Pregame 2:00 PM to 2:20 PM: you march 1-3 (Trumpet)",
        "Halftime 4:00 PM to 4:20 PM: you march 1-3 (Trumpet)",
    ]
    assert after[-1] == "Lineup: revision 1, published 14 Oct 2099, 3:05 PM"


def test_a_member_reads_no_name_and_no_absence(band: Band, cast: Cast) -> None:
    replaced(band, cast)
    event = game(band, cast.member)
    assert event["SEQUENCE"] == 2
    text = "\n".join(text_of(band, cast.member))
    assert "Pregame 2:00 PM to 2:20 PM: you do not march" in text
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
    assert "Pregame 2:00 PM to 2:20 PM: you march 1-1 (Trumpet)" in lines
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
            "6:00 PM to 6:50 PM: pregame, sets 1 to 8, lower field",
            "7:00 PM to 7:50 PM: run it, lower field",
        ]
    mine = read(cast.member)[key]
    assert (mine.start.hour, mine.end.hour, mine.end.minute) == (18, 19, 50)
    assert "DESCRIPTION" not in mine


def test_staff_read_cut_offs_and_contests(band: Band, cast: Cast) -> None:
    publish(band, cast.staff)
    band.event.cut_off = datetime.datetime(2099, 10, 16, 22, tzinfo=datetime.UTC)
    band.event.save()
    held = contest_round(band)
    found = read(cast.staff)
    cut_off = found[f"cut-off-{band.event.pk}"]
    assert str(cut_off["SUMMARY"]) == "Cut-off: Brackenfield at home"
    assert cut_off.start.astimezone(datetime.UTC) == band.event.cut_off
    assert str(found[f"contest-closes-{held.pk}"]["SUMMARY"]) == "Week 9: sign-up closes"
    contests = found[f"contest-{held.pk}"]
    assert contests.start.astimezone(datetime.UTC) == held.held_at
    assert "A win counts from Brackenfield at home." in str(contests["DESCRIPTION"])
    assert "Holes, all segments together: 0" in text_of(band, cast.staff)
    for user in (cast.member, cast.leader, cast.gear):
        assert not [uid for uid in read(user) if not uid.startswith("event-")]


def test_an_evaluator_reads_when_contests_are_and_nothing_else(band: Band, cast: Cast) -> None:
    publish(band, cast.staff)
    held = contest_round(band)
    found = read(cast.evaluator)
    assert list(found) == [f"contest-{held.pk}"]
    assert "Brackenfield" not in Client().get(feed_url(cast.evaluator)).content.decode()
    RoleGrant.objects.create(user=cast.member, season=band.season, role=Role.EVALUATOR)
    assert {f"contest-{held.pk}", f"event-{band.event.pk}"} == set(read(cast.member))


def test_a_day_without_times_and_an_event_that_is_removed(band: Band, cast: Cast) -> None:
    picnic = Event.objects.create(
        season=band.season,
        name="Picnic",
        date=datetime.date(2099, 9, 5),
        time_zone="America/Chicago",
    )
    event = read(cast.gear)[f"event-{picnic.pk}"]
    assert event.start == picnic.date
    assert event.end == picnic.date + datetime.timedelta(days=1)
    event_services.remove_event(actor=cast.staff, event=picnic)
    assert list(read(cast.gear)) == [f"event-{band.event.pk}"]


def test_the_stamp_is_when_the_event_or_its_parts_last_changed(band: Band, cast: Cast) -> None:
    def noted_on(day: int) -> datetime.datetime:
        """What the audit noted last is dated to a day of the season."""
        moment = datetime.datetime(2099, 9, day, 12, tzinfo=datetime.UTC)
        with unlocked():
            AuditEntry.objects.filter(pk=AuditEntry.objects.latest("pk").pk).update(at=moment)
        return moment

    band.event.venue = "Lantern Field"
    band.event.save()
    moment = noted_on(1)
    assert moment == game(band, cast.gear).DTSTAMP
    band.stands.ends = datetime.time(19)
    band.stands.save()
    moment = noted_on(2)
    assert moment == game(band, cast.gear).DTSTAMP
    event_services.remove_segment(actor=cast.staff, segment=band.stands)
    moment = noted_on(3)
    assert moment == game(band, cast.gear).DTSTAMP


def test_ids_name_our_own_host(band: Band, cast: Cast, settings: object) -> None:
    settings.SITE_URL = "https://band.example:8443"  # type: ignore[attr-defined]
    content = Client().get(feed_url(cast.gear)).content.decode()
    assert f"UID:event-{band.event.pk}@band.example\r\n" in content


@pytest.mark.parametrize("role", ["staff", "leader", "member", "evaluator"])
def test_a_calendar_asks_as_often_for_more_rows(band: Band, cast: Cast, role: str) -> None:
    lineup = publish(band, cast.staff)
    rehearsal(band)
    contest_round(band)
    user = cast.named(role)
    assert user is not None

    def asked() -> int:
        with CaptureQueriesContext(connection) as context:
            read(user)
        return len(context.captured_queries)

    read(user)
    before = asked()
    grow(band, cast, lineup)
    first = ContestRound.objects.earliest("pk")
    for number in range(3):
        first.pk, first.name = None, f"More {number}"
        first.save()
    assert asked() == before <= 16


@pytest.mark.parametrize("zone", ["America/Chicago", "Asia/Tokyo"])
@pytest.mark.parametrize("day", ["0001-01-01", "2999-07-04", "9999-12-31"])
def test_an_event_far_away_breaks_no_feed(cast: Cast, band: Band, day: str, zone: str) -> None:
    """Such rows may stand in a database from before days had limits."""
    far = Event.objects.create(
        season=band.season,
        name="Far",
        date=day,
        time_zone=zone,
        call_time=datetime.time(23, 30),
        cut_off=datetime.datetime.fromisoformat(f"{day}T23:59Z"),
    )
    found = read(cast.staff)
    assert {f"event-{far.pk}", f"event-{band.event.pk}", f"cut-off-{far.pk}"} <= set(found)
