"""Spots, holders and alternates."""

from __future__ import annotations

import datetime

import pytest
from django.db import IntegrityError, transaction

from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Holding
from roster.ranks.services import alternates, spots
from roster.ranks.services import holdings as services
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("rows are locked and standings written around their constraint"),
]
DAY = datetime.date(2099, 9, 14)
NEXT = datetime.date(2099, 9, 21)


def holder(band: Band, spot: str) -> str:
    found = spots.open_holding(spot=band.spots[spot])
    return found.member.name if found else ""


def standings(band: Band, rank: str) -> list[str]:
    places = AlternatePlace.objects.filter(rank=band.ranks[rank]).order_by("standing")
    return [p.member.name for p in places]


def test_a_swap_is_one_step_with_dates_and_who_decided(band: Band, cast: Cast) -> None:
    services.swap_holders(
        actor=cast.staff,
        first=band.members["Cai Ørnberg"],
        second=band.members["Gus Tamm"],
        on=DAY,
    )
    assert (holder(band, "1-3"), holder(band, "2-2")) == ("Gus Tamm", "Cai Ørnberg")
    history = [
        (h.member.name, h.starts, h.ends, str(h.decided_by or ""))
        for h in rank_queries.spot_history(band.spots["1-3"])
    ]
    assert history == [
        ("Gus Tamm", DAY, None, "Staff"),
        ("Cai Ørnberg", band.season.starts, DAY, ""),
    ]
    batches = AuditEntry.objects.filter(action="swap holders").values_list("batch", flat=True)
    assert len(set(batches)) == 1 and len(batches) == 4


def test_a_swap_across_parts_is_refused_and_changes_nothing(band: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match="does not play"):
        services.swap_holders(
            actor=cast.staff,
            first=band.members["Cai Ørnberg"],
            second=band.members["Dee Quill"],
            on=DAY,
        )
    assert (holder(band, "1-3"), holder(band, "1-4")) == ("Cai Ørnberg", "Dee Quill")


def test_a_holder_moves_to_an_empty_spot_only(band: Band, cast: Cast) -> None:
    free = band.spot("2", 9, "trumpet")
    member = band.members["Cai Ørnberg"]
    with pytest.raises(Refused, match="Bo Larkspur holds 1-2"):
        services.move_holder(actor=cast.staff, member=member, to=band.spots["1-2"], on=DAY)
    services.move_holder(actor=cast.staff, member=member, to=free, on=DAY)
    assert (holder(band, "1-3"), holder(band, "2-9")) == ("", "Cai Ørnberg")


def test_an_alternate_who_gets_a_spot_is_no_alternate_any_more(band: Band, cast: Cast) -> None:
    services.vacate_spot(actor=cast.staff, spot=band.spots["1-3"], on=DAY)
    services.place_holder(
        actor=cast.staff, spot=band.spots["1-3"], member=band.members["Jon Pell"], on=DAY
    )
    assert holder(band, "1-3") == "Jon Pell"
    assert standings(band, "1") == ["Ida Voss"]


def test_holdings_never_overlap_in_the_past_either(band: Band, cast: Cast) -> None:
    services.vacate_spot(actor=cast.staff, spot=band.spots["1-3"], on=NEXT)
    with pytest.raises(Refused, match="Cai Ørnberg holds 1-3 then"):
        services.place_holder(
            actor=cast.staff, spot=band.spots["1-3"], member=band.members["Jon Pell"], on=DAY
        )


def test_the_database_itself_keeps_one_holder_a_spot(band: Band) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        Holding.objects.create(spot=band.spots["1-3"], member=band.members["Ida Voss"], starts=DAY)
    with pytest.raises(IntegrityError), transaction.atomic():
        Holding.objects.create(
            spot=band.spot("2", 9, "trumpet"), member=band.members["Gus Tamm"], starts=DAY
        )


def test_alternates_are_reordered_in_one_step(band: Band, cast: Cast) -> None:
    rank, part = band.ranks["1"], band.parts["trumpet"]
    ids = [band.members[n].pk for n in ("Jon Pell", "Ida Voss")]
    alternates.reorder_alternates(actor=cast.staff, rank=rank, part=part, member_ids=ids)
    assert standings(band, "1") == ["Jon Pell", "Ida Voss"]


def test_a_reorder_of_a_list_that_changed_is_refused(band: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match="just changed"):
        alternates.reorder_alternates(
            actor=cast.staff,
            rank=band.ranks["1"],
            part=band.parts["trumpet"],
            member_ids=[band.members["Jon Pell"].pk],
        )


def test_a_new_alternate_takes_the_standing_and_the_others_move_back(
    band: Band, cast: Cast
) -> None:
    new = band.member("Lio Marsh", "trumpet")
    alternates.add_alternate(
        actor=cast.staff, member=new, rank=band.ranks["1"], part=band.parts["trumpet"], standing=2
    )
    assert standings(band, "1") == ["Ida Voss", "Lio Marsh", "Jon Pell"]
    place = AlternatePlace.objects.get(member=new)
    alternates.remove_alternate(actor=cast.staff, place=place)
    numbers = AlternatePlace.objects.filter(rank=band.ranks["1"]).values_list("standing", flat=True)
    assert list(numbers.order_by("standing")) == [1, 2]


def test_a_holder_cannot_be_an_alternate_too(band: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match="holds a spot"):
        alternates.add_alternate(
            actor=cast.staff,
            member=band.members["Cai Ørnberg"],
            rank=band.ranks["1"],
            part=band.parts["trumpet"],
        )


def test_leaving_all_places_takes_the_lead_away_too(band: Band, cast: Cast) -> None:
    services.leave_places(actor=cast.staff, member=band.members["Ana Núñez"], on=DAY)
    band.ranks["1"].refresh_from_db()
    assert band.ranks["1"].leader is None
    assert holder(band, "1-1") == ""


def test_a_spot_cannot_ask_for_a_part_its_holder_does_not_play(band: Band, cast: Cast) -> None:
    spot = band.spots["1-3"]
    spot.part = band.parts["clarinet"]
    with pytest.raises(Refused, match="does not play Clarinet"):
        spots.save_spot(actor=cast.staff, spot=spot)


def test_an_alternate_takes_over_and_the_holder_gets_their_place(band: Band, cast: Cast) -> None:
    cai, jon = band.members["Cai Ørnberg"], band.members["Jon Pell"]
    made = services.change_holder(actor=cast.staff, spot=band.spots["1-3"], to=jon, on=DAY)
    assert (made.member, made.starts, made.decided_by) == (jon, DAY, cast.staff)
    before = rank_queries.holders_on(band.season, DAY - datetime.timedelta(days=1))
    assert before[band.spots["1-3"].pk] == cai.pk
    assert rank_queries.holders_on(band.season, DAY)[band.spots["1-3"].pk] == jon.pk
    assert standings(band, "1") == ["Ida Voss", "Cai Ørnberg"], "at the place Jon had"
    batches = AuditEntry.objects.filter(action="change holder").values_list("batch", flat=True)
    assert len(set(batches)) == 1


def test_who_does_not_play_the_places_part_stands_last_at_their_own(band: Band, cast: Cast) -> None:
    member = band.member("Both Ways", "clarinet", "trumpet")
    band.alternate("2", "clarinet", member, 1)
    services.change_holder(actor=cast.staff, spot=band.spots["1-3"], to=member, on=DAY)
    place = AlternatePlace.objects.get(member=band.members["Cai Ørnberg"])
    assert (place.rank.label, place.part.name, place.standing) == ("1", "Trumpet", 3)
    assert not AlternatePlace.objects.filter(part=band.parts["clarinet"]).exists()


@pytest.mark.parametrize(
    ("name", "spot", "on", "message"),
    [
        ("Gus Tamm", "1-3", DAY, "no longer an alternate"),
        ("Ida Voss", "1-4", DAY, "does not play"),
        ("Ida Voss", "1-3", datetime.date(2100, 1, 5), "outside the season"),
    ],
)
def test_what_cannot_change_hands_stays(
    band: Band, cast: Cast, name: str, spot: str, on: datetime.date, message: str
) -> None:
    before = list(Holding.objects.values_list())
    with pytest.raises(Refused, match=message):
        services.change_holder(
            actor=cast.staff, spot=band.spots[spot], to=band.members[name], on=on
        )
    assert list(Holding.objects.values_list()) == before
    assert AlternatePlace.objects.count() == 3


def test_nobody_takes_over_before_the_holder_began(band: Band, cast: Cast) -> None:
    Holding.objects.filter(spot=band.spots["1-3"]).update(starts=NEXT)
    with pytest.raises(Refused, match="only from Sep 21, 2099"):
        services.change_holder(
            actor=cast.staff, spot=band.spots["1-3"], to=band.members["Ida Voss"], on=DAY
        )
