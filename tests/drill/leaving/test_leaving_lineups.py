"""Published lineups and drafts of events to come follow whoever stops."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.utils import timezone

from bandops.lib.errors import Refused
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Backup, Lineup, Pin
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand
from drill.publishing.services.revising import go_back
from roster.people.models import Qualification
from roster.people.services.people import Skill, set_qualifications
from tests.drill.leaving.leavers import (
    back,
    day_before,
    newest,
    on_leave,
    released,
    seats_of,
    stands,
)
from tests.drill.publishing.publishing_help import at, publish, say_out
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("revisions are numbered under a lock"),
]
Stop = Callable[[Band, Cast, str], object]
LEAVER = "Cai Ørnberg"


def not_cleared(band: Band, cast: Cast, name: str) -> None:
    stands(band, cast, name, cleared="no")


def not_eligible_then(band: Band, cast: Cast, name: str) -> None:
    stands(band, cast, name, eligible="until", eligible_until=day_before(band.event.date))


WAYS = [released, on_leave, not_cleared, not_eligible_then]


@pytest.mark.parametrize("stop", WAYS)
def test_whoever_stops_is_replaced_in_what_is_published(band: Band, cast: Cast, stop: Stop) -> None:
    publish(band, cast)
    stop(band, cast, LEAVER)
    made = newest(band)
    assert made.number == 2 and not seats_of(made, LEAVER)
    assert at(made, "Halftime", "1-3") == at(made, "Pregame", "1-3") == "Ida Voss"
    assert "Ida Voss" in {n.member.name for n in made.notices.all()}


@pytest.mark.parametrize("stop", WAYS)
def test_an_open_draft_is_kept_and_follows_as_well(band: Band, cast: Cast, stop: Stop) -> None:
    publish(band, cast)
    draft = open_draft(actor=cast.staff, event=band.event)
    place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["2-1"],
        member=band.members["Ida Voss"],
    )
    stop(band, cast, LEAVER)
    made, kept = newest(band), lineup_queries.draft(band.event)
    assert kept is not None and not seats_of(made, LEAVER) and not seats_of(kept, LEAVER)
    assert at(made, "Halftime", "1-3") == "Ida Voss"
    assert at(kept, "Halftime", "2-1") == "Ida Voss", "what staff had in the draft stays"
    assert at(kept, "Halftime", "1-3") == "Jon Pell", "the nearest who is free in the draft"


def test_a_draft_alone_follows_and_nothing_is_published(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    on_leave(band, cast, LEAVER)
    draft = Lineup.objects.get(pk=draft.pk)
    assert at(draft, "Halftime", "1-3") == "Ida Voss"
    assert lineup_queries.published(band.event) is None


def test_where_nobody_is_free_the_spot_is_open_and_staff_are_told(band: Band, cast: Cast) -> None:
    publish(band, cast)
    said = released(band, cast, "Hal Brook")
    assert at(newest(band), "Halftime", "2-3") == "hole"
    assert said == [
        "Pellowick at home: revision 2 is published. 2-3 in Pregame and Halftime is open."
    ]


def test_several_at_once_make_one_revision(band: Band, cast: Cast) -> None:
    publish(band, cast)
    on_leave(band, cast, "Ana Núñez", "Bo Larkspur", "Cai Ørnberg", "Fay Ashgrove")
    made = newest(band)
    assert made.number == 2
    filled = {at(made, "Halftime", spot) for spot in ("1-1", "1-2", "1-3", "2-1")}
    assert filled == {"Ida Voss", "Jon Pell", "Kit Moss", "hole"}


def test_the_first_backup_goes_before_the_first_alternate(band: Band, cast: Cast) -> None:
    Backup.objects.create(spot=band.spots["1-3"], member=band.members["Jon Pell"], order=1)
    publish(band, cast)
    on_leave(band, cast, LEAVER)
    assert at(newest(band), "Halftime", "1-3") == "Jon Pell"


def test_somebody_else_who_is_out_stays_a_question_of_its_own(band: Band, cast: Cast) -> None:
    """Dee's absence was not decided: it neither refuses the release nor moves Dee."""
    publish(band, cast)
    say_out(band, cast, "Dee Quill")
    released(band, cast, LEAVER)
    made = newest(band)
    assert at(made, "Halftime", "1-3") == "Ida Voss"
    assert at(made, "Halftime", "1-4") == "Dee Quill"


def test_a_pin_of_whoever_stops_is_lifted(band: Band, cast: Cast) -> None:
    Pin.objects.create(event=band.event, spot=band.spots["1-3"], member=band.members[LEAVER])
    publish(band, cast)
    not_cleared(band, cast, LEAVER)
    assert not Pin.objects.exists()
    assert at(newest(band), "Halftime", "1-3") == "Ida Voss"


def test_a_part_less_ends_standing_in_on_it(band: Band, cast: Cast) -> None:
    clarinet = band.parts["clarinet"]
    Qualification.objects.create(member=band.members["Kit Moss"], part=clarinet)
    say_out(band, cast, "Dee Quill")
    publish(band, cast)
    assert at(newest(band), "Halftime", "1-4") == "Kit Moss"
    set_qualifications(
        actor=cast.staff,
        member=band.members["Kit Moss"],
        main=Skill(band.parts["trumpet"]),
        doubles=[],
    )
    assert at(newest(band), "Halftime", "1-4") == "hole"


def test_cleared_again_or_through_the_day_changes_nothing(band: Band, cast: Cast) -> None:
    publish(band, cast)
    stands(band, cast, LEAVER, cleared="until", cleared_until=band.event.date)
    stands(band, cast, LEAVER, cleared="yes", cleared_until=None)
    assert newest(band).number == 1


def test_what_is_past_keeps_them(band: Band, cast: Cast) -> None:
    publish(band, cast)
    band.event.date = day_before(timezone.localdate())
    band.event.save()
    released(band, cast, LEAVER)
    assert newest(band).number == 1 and len(seats_of(newest(band), LEAVER)) == 2


def test_past_the_cut_off_only_the_director_takes_them_out(band: Band, cast: Cast) -> None:
    publish(band, cast)
    band.event.cut_off = timezone.now()
    band.event.save()
    with pytest.raises(Refused, match="only the director"):
        released(band, cast, LEAVER)
    band.members[LEAVER].refresh_from_db()
    assert band.members[LEAVER].status == "active" and newest(band).number == 1
    director = type("Directed", (), {"staff": cast.director})
    released(band, director, LEAVER)  # type: ignore[arg-type]
    assert not seats_of(newest(band), LEAVER)


def test_places_of_a_revision_with_somebody_who_left_are_not_published_again(
    band: Band, cast: Cast
) -> None:
    first = publish(band, cast)
    released(band, cast, LEAVER)
    with pytest.raises(Refused) as refusal:
        go_back(actor=cast.staff, event=band.event, to=first)
    assert "no longer an active member" in refusal.value.details[0]


def test_who_comes_back_finds_the_lineup_as_it_is(band: Band, cast: Cast) -> None:
    publish(band, cast)
    on_leave(band, cast, LEAVER)
    back(band, cast, LEAVER)
    assert newest(band).number == 2 and at(newest(band), "Halftime", "1-3") == "Ida Voss"
