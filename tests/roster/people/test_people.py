"""Members joining, their parts, namesakes."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from bandops.lib.errors import Refused
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.kinds import accept, kind_of
from bandops.lib.imports.reading import read_table
from roster.people import queries as people_queries
from roster.people.enums import MemberStatus
from roster.people.models import Member, Person
from roster.people.services import people as services
from roster.people.services.people import Skill
from roster.ranks.services.holdings import place_holder
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("constraints, and addresses that are unique whatever their case"),
]


def join(band: Band, cast: Cast, name: str, namesake_is_meant: bool = False) -> Member:
    return services.add_member(
        actor=cast.staff,
        season=band.season,
        person=Person(legal_name=name),
        values={},
        main=Skill(band.parts["trumpet"]),
        doubles=[Skill(band.parts["clarinet"])],
        namesake_is_meant=namesake_is_meant,
    )


def parts(member: Member) -> list[tuple[str, bool]]:
    return [(q.part.code, q.main) for q in member.qualifications.all()]


def test_somebody_joins_in_the_middle_of_the_season(band: Band, cast: Cast) -> None:
    member = join(band, cast, "Zoë  Quandt")
    assert member.name == "Zoë Quandt"
    assert parts(member) == [("trumpet", True), ("clarinet", False)]


def test_a_namesake_joins_only_when_that_is_meant(band: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match="already here"):
        join(band, cast, "Ana Nunez")
    assert join(band, cast, "Ana Nunez", namesake_is_meant=True).pk


def test_main_and_doubled_part_change_places(band: Band, cast: Cast) -> None:
    member = join(band, cast, "Zoë Quandt")
    services.set_qualifications(
        actor=cast.staff,
        member=member,
        main=Skill(band.parts["clarinet"]),
        doubles=[Skill(band.parts["trumpet"])],
    )
    assert parts(member) == [("clarinet", True), ("trumpet", False)]


def test_who_is_on_leave_gets_no_spot(band: Band, cast: Cast) -> None:
    member = join(band, cast, "Zoë Quandt")
    services.set_status(
        actor=cast.staff, season=band.season, members=[member], status=MemberStatus.ON_LEAVE
    )
    member.refresh_from_db()
    with pytest.raises(Refused, match="on leave"):
        place_holder(
            actor=cast.staff,
            spot=band.spot("2", 9, "trumpet"),
            member=member,
            on=band.season.starts,
        )


def test_clearance_through_a_date_needs_the_date(band: Band, cast: Cast) -> None:
    with pytest.raises(ValidationError):
        services.change_member(
            actor=cast.staff,
            member=band.members["Cai Ørnberg"],
            person_values={},
            values={"cleared": "until"},
        )


@pytest.mark.parametrize(
    "text",
    [
        "nunez",
        "NÚÑEZ",
        "ana 1-1",
        "ana 1–1",
        "trumpet ana",
        "004417",
        "Núñez, Ana",
        "NUNEZ, ANA M. JR.",
    ],
)
def test_search_forgives_marks_and_case(band: Band, text: str) -> None:
    found = people_queries.search_members(people_queries.members(band.season), text)
    assert [m.name for m in found] == ["Ana Núñez"]


@pytest.mark.parametrize(
    ("text", "years"), [("Fr", 0), ("So.", 1), ("junior", 2), ("SR", 3), ("4", 4), ("", 0)]
)
def test_years_may_be_written_as_the_school_year(
    band: Band, cast: Cast, text: str, years: int
) -> None:
    kind = kind_of("members")
    table = read_table("m.csv", f"name,part,yr\nZoë Quandt,Tpt,{text}\n".encode())
    accept(
        actor=cast.staff,
        kind=kind,
        filename="m.csv",
        table=table,
        mapping=match_headers(table.headers, kind.columns),
        season=band.season,
    )
    assert Member.objects.get(person__legal_name="Zoë Quandt").years_marched == years


@pytest.mark.parametrize(
    ("name", "why"), [("Cai Ørnberg", "holds 1-3"), ("Ida Voss", "is an alternate of Rank 1")]
)
def test_nobody_drops_the_part_that_their_place_needs(
    band: Band, cast: Cast, name: str, why: str
) -> None:
    with pytest.raises(Refused, match=why):
        services.set_qualifications(
            actor=cast.staff,
            member=band.members[name],
            main=Skill(band.parts["clarinet"]),
            doubles=[],
        )
