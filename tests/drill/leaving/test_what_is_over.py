"""What is over stays as it was marched, whoever changes the lineup and by whatever way."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import is_stale, open_draft
from drill.lineup.services.lineups import (
    place_by_hand,
    start_by_hand,
    swap_by_hand,
    take_proposal,
)
from drill.lineup.services.problem_builder import build
from drill.lineup.services.proposals import propose
from drill.publishing.services.publishing import publish_lineup
from drill.publishing.services.revising import go_back
from drill.rehearsals.models import Attendance
from tests.answers import text
from tests.drill.gameday.gameday_desk import ask, wish
from tests.drill.leaving.leavers import newest, on_leave, released, stands
from tests.drill.publishing.publishing_help import at, publish, say_out
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("drafts are locked and rows copied")]
Stop = Callable[[Band, Cast, str], object]
SignIn = Callable[[User | None], Client]
CAI, IDA, JON = "Cai Ørnberg", "Ida Voss", "Jon Pell"
OVER = "this is over and stays as it was marched"


def not_cleared(band: Band, cast: Cast, name: str) -> None:
    stands(band, cast, name, cleared="no")


@pytest.fixture
def first(band: Band, cast: Cast) -> Lineup:
    """Revision 1, published before the day."""
    with time_machine.travel(band.event.local(datetime.time(9))):
        return publish(band, cast)


@pytest.fixture
def between(band: Band, first: Lineup) -> Iterator[Band]:
    """Three o'clock: pregame is over, halftime is to come."""
    with time_machine.travel(band.event.local(datetime.time(15)), tick=False):
        yield band


def publish_draft_of(band: Band, cast: Cast) -> Lineup:
    draft = open_draft(actor=cast.director, event=band.event)
    last = newest(band)
    return publish_lineup(
        actor=cast.director,
        event=band.event,
        seen_version=draft.version,
        seen_number=last.number,
        reason="on the day",
    )


def pregame(lineup: Lineup) -> list[tuple[object, ...]]:
    rows = lineup.rows.filter(segment__name="Pregame")
    return sorted(rows.values_list("spot", "member", "origin"))


def test_there_is_nothing_over_before_anything_is_published(band: Band) -> None:
    with time_machine.travel(band.event.local(datetime.time(15)), tick=False):
        assert build(band.event).over == frozenset()
        assert {p.segment for p in propose(build(band.event)).answer.placements} == {
            key(band.pregame.pk),
            key(band.halftime.pk),
        }


@pytest.mark.parametrize("stop", [released, on_leave, not_cleared])
def test_whoever_stops_between_keeps_what_they_marched(
    between: Band, cast: Cast, first: Lineup, stop: Stop
) -> None:
    stop(between, cast, CAI)
    made = newest(between)
    assert made.number == 2 and at(made, "Halftime", "1-3") == IDA
    assert at(made, "Pregame", "1-3") == CAI and pregame(made) == pregame(first)
    told = {n.member.name: n.content["changes"] for n in made.notices.all()}
    assert {change[0] for change in told[IDA]} == {key(between.halftime.pk)}


def test_a_proposal_is_about_what_is_to_come(between: Band, cast: Cast, first: Lineup) -> None:
    say_out(between, cast, CAI)
    draft = open_draft(actor=cast.director, event=between.event)
    take_proposal(actor=cast.director, event=between.event, seen_version=draft.version)
    made = publish_draft_of(between, cast)
    assert at(made, "Halftime", "1-3") == IDA and pregame(made) == pregame(first)


def test_the_proposal_s_page_names_no_change_of_it(
    between: Band, cast: Cast, signed_in: SignIn
) -> None:
    say_out(between, cast, CAI)
    page = text(signed_in(cast.director).get(reverse("proposal", args=[between.event.pk])))
    assert "Halftime" in page and "Pregame" not in page


def test_what_a_draft_had_of_it_does_not_come_out_afterwards(
    band: Band, cast: Cast, first: Lineup
) -> None:
    """Staff changed both segments at eleven and publish at three."""
    with time_machine.travel(band.event.local(datetime.time(11)), tick=False):
        draft = open_draft(actor=cast.director, event=band.event)
        for segment in (band.pregame, band.halftime):
            draft.refresh_from_db()
            place_by_hand(
                actor=cast.director,
                event=band.event,
                seen_version=draft.version,
                segment=segment,
                spot=band.spots["1-3"],
                member=band.members[JON],
            )
    with time_machine.travel(band.event.local(datetime.time(15)), tick=False):
        made = publish_draft_of(band, cast)
    assert at(made, "Halftime", "1-3") == JON and at(made, "Pregame", "1-3") == CAI
    assert pregame(made) == pregame(first)


def test_no_hand_changes_it(between: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.director, event=between.event)
    with pytest.raises(Refused, match=f"Pregame: {OVER}"):
        place_by_hand(
            actor=cast.director,
            event=between.event,
            seen_version=draft.version,
            segment=between.pregame,
            spot=between.spots["1-3"],
            member=between.members[JON],
        )
    with pytest.raises(Refused, match=f"Pregame: {OVER}"):
        swap_by_hand(
            actor=cast.director,
            event=between.event,
            seen_version=draft.version,
            segments=[between.pregame, between.halftime],
            first=between.members[CAI],
            second=between.members["Ana Núñez"],
        )


def test_swapping_in_every_segment_means_those_to_come(
    between: Band, cast: Cast, first: Lineup, signed_in: SignIn
) -> None:
    draft = open_draft(actor=cast.director, event=between.event)
    form = {
        "version": draft.version,
        "scope": "event",
        "first": between.members[CAI].pk,
        "second": between.members["Ana Núñez"].pk,
    }
    url = reverse("swap-by-hand", args=[between.event.pk])
    assert "are swapped" in text(signed_in(cast.director).post(url, form, follow=True))
    made = publish_draft_of(between, cast)
    assert at(made, "Halftime", "1-1") == CAI and pregame(made) == pregame(first)


def test_starting_by_hand_keeps_it(between: Band, cast: Cast, first: Lineup) -> None:
    say_out(between, cast, CAI)
    draft = start_by_hand(actor=cast.director, event=between.event)
    assert pregame(draft) == pregame(first) and at(draft, "Halftime", "1-3") == "hole"


def test_going_back_to_a_revision_goes_back_in_what_is_to_come(
    band: Band, cast: Cast, first: Lineup
) -> None:
    with time_machine.travel(band.event.local(datetime.time(10)), tick=False):
        say_out(band, cast, CAI)
        draft = open_draft(actor=cast.director, event=band.event)
        take_proposal(actor=cast.director, event=band.event, seen_version=draft.version)
        second = publish_draft_of(band, cast)
    with time_machine.travel(band.event.local(datetime.time(15)), tick=False):
        say_in(band, CAI)
        made = go_back(actor=cast.director, event=band.event, to=first, reason="Cai came")
    assert at(made, "Halftime", "1-3") == CAI and pregame(made) == pregame(second)


def say_in(band: Band, name: str) -> None:
    band.members[name].absences.all().delete()


def test_that_time_passes_makes_no_lineup_stale(between: Band, first: Lineup) -> None:
    assert not is_stale(first, build(between.event))


def test_an_event_that_is_over_takes_no_revision(band: Band, cast: Cast, first: Lineup) -> None:
    with time_machine.travel(band.event.local(datetime.time(23)), tick=False):
        with pytest.raises(Refused, match=f"Pregame, Halftime, Stands: {OVER}"):
            publish_draft_of(band, cast)
        with pytest.raises(Refused, match=f"Pregame, Halftime, Stands: {OVER}"):
            propose(build(band.event))
    assert lineup_queries.published(band.event) == first


def test_its_seats_offer_nothing(between: Band, cast: Cast, signed_in: SignIn) -> None:
    director = signed_in(cast.director)
    spot = between.spots["1-3"].pk
    arguments = [between.event.pk, between.pregame.pk, spot]
    page = text(director.get(reverse("seat", args=arguments)))
    assert "Pregame is over and stays as it was marched" in page
    assert "Put here" not in page and "Empty it" not in page and "can't march …" not in page
    arguments[1] = between.halftime.pk
    assert "Put here" in text(director.get(reverse("seat", args=arguments)))
    page = text(director.get(reverse("lineup", args=[between.event.pk])))
    assert ">Pregame, over</a>" in page
    assert f'aria-current="true">{between.halftime}' in page, "the first that is to come"


def test_the_desk_lists_what_followed_a_leave(between: Band, cast: Cast, signed_in: SignIn) -> None:
    on_leave(between, cast, CAI)
    page = text(signed_in(cast.staff).get(reverse("desk-of", args=[between.event.pk])))
    listed = page[page.index("Changes of the day") :]
    assert "The lineup was changed. Revision 2" in listed
    assert reverse("revision", args=[newest(between).pk]) in listed


def test_before_a_release_only_what_is_to_come_is_named(
    between: Band, cast: Cast, signed_in: SignIn
) -> None:
    url = reverse("member-release", args=[between.members[CAI].pk])
    page = text(signed_in(cast.staff).get(url))
    assert "1-3 Halftime (a new revision" in page and "1-3 Pregame" not in page
    Event.objects.filter(pk=between.event.pk).update(cut_off=between.event.local(datetime.time(12)))
    page = text(signed_in(cast.staff).get(url))
    assert f"only the director can release {CAI} now" in page
    assert f">Release {CAI}</button>" not in page
    assert f">Release {CAI}</button>" in text(signed_in(cast.director).get(url))


def test_who_was_noted_as_not_here_does_not_follow(band: Band, cast: Cast, first: Lineup) -> None:
    """Ida is the nearest free trumpet; she was looked for and not found."""
    with time_machine.travel(band.event.local(datetime.time(11, 30)), tick=False):
        Attendance.objects.create(
            event=band.event,
            member=band.members[IDA],
            state="absent",
            noted_by=cast.leader,
            noted_at=timezone.now(),
        )
        on_leave(band, cast, CAI)
    assert at(newest(band), "Halftime", "1-3") == JON


def test_open_spots_of_what_is_over_are_on_no_list(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    """1-3 was open in both segments."""
    with time_machine.travel(band.event.local(datetime.time(9)), tick=False):
        publish(band, cast)
        ask(band, cast, wish(band, CAI, None))
        page = text(signed_in(cast.staff).get(reverse("week")))
        assert "<strong>1-3</strong> Trumpet, Pregame, Halftime" in page
    with time_machine.travel(band.event.local(datetime.time(15)), tick=False):
        staff = signed_in(cast.staff)
        assert "<strong>1-3</strong> Trumpet, Halftime" in text(staff.get(reverse("week")))
        open_draft(actor=cast.director, event=band.event)
        page = text(staff.get(reverse("publish", args=[band.event.pk])))
        assert "<li>Halftime 1-3</li>" in page and "<li>Pregame 1-3</li>" not in page
