"""The roster's four imports: what each adds, changes, leaves as it is, and refuses."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.utils import timezone

from bandops.lib.errors import Refused
from roster.models import AlternatePlace, Holding, Instrument, Member, Part, Person, Rank, Spot
from tests.factories import Band, Cast
from tests.lib.imports_help import (
    accept_file,
    actions,
    all_same,
    csv_file,
    dump,
    faults,
    plan_of,
)

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
Rows = list[list[object]]


class Desk:
    """One kind of import for the small band, by staff."""

    def __init__(self, band: Band, cast: Cast, kind: str, *headers: str) -> None:
        self.band, self.cast, self.kind, self.headers = band, cast, kind, headers

    def file(self, *rows: list[object]) -> bytes:
        return csv_file(self.headers, *rows)

    def plan(self, *rows: list[object]) -> Any:
        return plan_of(self.kind, self.file(*rows), self.band.season, self.cast.staff)

    def accept(self, *rows: list[object]) -> Any:
        batch = accept_file(self.kind, self.file(*rows), self.band.season, self.cast.staff)
        assert all_same(self.plan(*rows)), self.plan(*rows)
        return batch

    def faults(self, *rows: list[object]) -> list[tuple[int, str]]:
        return faults(self.plan(*rows))


def changes(plan: Any) -> list[tuple[str, str, str]]:
    return [(c.name, c.before, c.after) for line in plan.lines for c in line.changes]


def running(band: Band, days: int = 60) -> datetime.date:
    """The season began some days ago; returns today."""
    today = timezone.localdate()
    band.season.starts = today - datetime.timedelta(days=days)
    band.season.save()
    Holding.objects.update(starts=band.season.starts)
    return today


def holder(label: str) -> str:
    rank, number = label.split("-")
    holding = Holding.objects.filter(
        spot__rank__label=rank, spot__number=number, ends__isnull=True
    ).first()
    return holding.member.name if holding else ""


# Instruments and parts


@pytest.fixture
def instruments(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "instruments", "instrument", "part", "code", "school instruments")


def test_parts_are_added_changed_and_left(instruments: Desk) -> None:
    rows: Rows = [
        ["Trumpet", "Trumpet", "trumpet", ""],
        ["Trumpet", "Second trumpet", "Trumpet 2", ""],
        ["Sousaphone", "Bass horn", "sousaphone", "7"],
        ["Flags", "", "", "20"],
    ]
    assert actions(instruments.plan(*rows)) == ["same", "add", "change", "add"]
    instruments.accept(*rows)
    assert set(Part.objects.values_list("code", "name", "instrument__name")) == {
        ("trumpet", "Trumpet", "Trumpet"),
        ("trumpet-2", "Second trumpet", "Trumpet"),
        ("clarinet", "Clarinet", "Clarinet"),
        ("sousaphone", "Bass horn", "Sousaphone"),
        ("flags", "Flags", "Flags"),
    }
    assert dict(Instrument.objects.values_list("name", "school_stock")) == {
        "Trumpet": None, "Clarinet": None, "Sousaphone": 7, "Flags": 20,
    }  # fmt: skip


def test_the_school_s_number_may_stand_in_one_row_of_an_instrument(instruments: Desk) -> None:
    instruments.accept(["Trumpet", "Trumpet", "trumpet", "9"], ["Trumpet", "Second", "second", ""])
    assert Instrument.objects.get(name="Trumpet").school_stock == 9


def test_every_fault_of_parts_is_named(instruments: Desk) -> None:
    assert instruments.faults(
        ["", "A", "a", ""],
        ["Drum", "B", "b", "many"],
        ["Drum", "C", "b", ""],
        ["Drum", "鼓", "", ""],
        ["D" * 61, "E", "e", ""],
        ["Drum", "F" * 61, "f", ""],
        ["Drum", "G", "g" * 41, ""],
        ["Horn", "H", "h", "3"],
        ["Horn", "I", "i", "4"],
        ["Horn", "J", "j", "-1"],
    ) == [
        (2, "instrument"),
        (3, "school instruments"),
        (4, "code"),
        (5, "code"),
        (6, "instrument"),
        (7, "part"),
        (8, "code"),
        (10, "school instruments"),
        (11, "school instruments"),
    ]


def test_a_missing_column_is_named(band: Band, cast: Cast) -> None:
    plan = plan_of("instruments", csv_file(["part"], ["x"]), band.season, cast.staff)
    assert [(f.row, f.column) for f in plan.faults] == [(0, "instrument")]


# Members


@pytest.fixture
def members(band: Band, cast: Cast) -> Desk:
    return Desk(
        band, cast, "members", "student number", "legal name", "email", "phone", "years marched",
        "main part", "also plays", "own instruments", "status", "listed", "cleared", "eligible",
    )  # fmt: skip


def person_row(**values: object) -> list[object]:
    keys = (
        "number", "name", "email", "phone", "years", "main", "doubles", "own", "status", "listed",
        "cleared", "eligible",
    )  # fmt: skip
    return [{"name": "New One", "main": "trumpet", **values}.get(key, "") for key in keys]


ANA: dict[str, object] = {
    "number": "004417",
    "name": "Ana Núñez",
    "email": "ana.nunez@quillwater.example",
    "years": 2,
}


def test_members_are_added_changed_and_left(members: Desk) -> None:
    rows = [
        person_row(**ANA),
        person_row(number="004418", name="Bo Larkspur", email="bo@new.example", years=3),
        person_row(
            number="1E5", name="Marisol Núñez", doubles="clarinet; sousaphone", own="Trumpet"
        ),
    ]  # fmt: skip
    plan = members.plan(*rows)
    assert actions(plan) == ["same", "change", "add"]
    assert changes(plan) == [
        ("email", "bo.larkspur@quillwater.example", "bo@new.example"),
        ("years marched", "2", "3"),
        ("student number", "", "1E5"),
        ("parts", "", "trumpet (own), clarinet, sousaphone"),
    ]
    members.accept(*rows)
    made = Member.objects.get(person__student_number="1E5")
    assert {(q.part.code, q.main, q.own_instrument) for q in made.qualifications.all()} == {
        ("trumpet", True, True),
        ("clarinet", False, False),
        ("sousaphone", False, False),
    }


def test_a_used_name_of_one_word_that_is_there_stays(band: Band, cast: Cast) -> None:
    Person.objects.filter(legal_name="Ana Núñez").update(used_name="Anita")
    content = csv_file(
        ["student number", "legal name", "used name", "main part"],
        ["004417", "Ana Núñez", "Anita", "trumpet"],
    )
    plan = plan_of("members", content, band.season, cast.staff)
    assert all_same(plan)
    assert not plan.warnings


def test_a_member_is_known_by_number_then_address_then_name(members: Desk) -> None:
    members.accept(person_row(number="004417", name="Ana María Núñez"))
    assert (
        members.band.members["Ana Núñez"].person.pk
        == Person.objects.get(legal_name="Ana María Núñez").pk
    )
    plan = members.plan(
        person_row(name="Robert Larkspur", email="BO.Larkspur@quillwater.example", years=2),
        person_row(name="cai ornberg", years=2),
    )
    assert actions(plan) == ["change", "change"]


def test_an_empty_clearance_clears_nobody(members: Desk) -> None:
    member = members.band.members["Ana Núñez"]
    Member.objects.filter(pk=member.pk).update(cleared="no", cleared_by="the trainer")
    assert all_same(members.plan(person_row(**ANA)))
    members.accept(person_row(**ANA, phone="1"))
    member.refresh_from_db()
    assert (member.cleared, member.cleared_by, member.phone) == ("no", "the trainer", "1")


def test_a_clearance_names_who_brought_it(members: Desk) -> None:
    member = members.band.members["Ana Núñez"]
    Member.objects.filter(pk=member.pk).update(cleared="no", cleared_by="the trainer")
    members.accept(person_row(**ANA, cleared="until 2026-11-20", eligible="No"))
    member.refresh_from_db()
    assert (member.cleared, str(member.cleared_until)) == ("until", "2026-11-20")
    assert member.cleared_by == str(members.cast.staff)
    assert (member.eligible, member.eligible_until) == ("no", None)


def test_columns_the_file_lacks_stay(band: Band, cast: Cast) -> None:
    member = band.members["Dee Quill"]
    member.qualifications.update(own_instrument=True)
    member.qualifications.create(part=band.parts["trumpet"])
    Member.objects.filter(pk=member.pk).update(phone="555", cleared="no", emergency_contact="them")
    few = csv_file(
        ["student number", "legal name", "main part"], ["004420", "Dee Quill", "clarinet"]
    )
    assert all_same(plan_of("members", few, band.season, cast.staff))
    more = csv_file(
        ["student number", "legal name", "main part", "pronouns"],
        ["004420", "Dee Quill", "clarinet", "she/her"],
    )
    accept_file("members", more, band.season, cast.staff)
    assert {(q.part.code, q.main, q.own_instrument) for q in member.qualifications.all()} == {
        ("clarinet", True, True),
        ("trumpet", False, False),
    }


def test_a_part_named_twice_counts_once(members: Desk) -> None:
    rows = person_row(number="77", name="Twice Over", main="clarinet", doubles="clarinet, trumpet")
    members.accept(rows)
    assert Member.objects.get(person__student_number="77").qualifications.count() == 2


def test_main_and_double_change_places(members: Desk) -> None:
    row = {"number": "77", "name": "Zed Over"}
    members.accept(person_row(**row, main="clarinet", doubles="trumpet"))
    plan = members.plan(person_row(**row, main="trumpet", doubles="clarinet"))
    assert changes(plan) == [("parts", "clarinet, trumpet", "trumpet, clarinet")]
    members.accept(person_row(**row, main="trumpet", doubles="clarinet"))


def test_every_fault_of_members_is_named(members: Desk) -> None:
    band = members.band
    Person.objects.create(legal_name="Fay Ashgrove")
    instrument = Instrument.objects.create(season=band.season, name="Cornet")
    Part.objects.create(season=band.season, instrument=instrument, name="Trumpet", code="cornet")
    Part.objects.create(season=band.season, instrument=instrument, name="Same", code="same-1")
    Part.objects.create(season=band.season, instrument=instrument, name="Same", code="same-2")
    assert members.faults(
        person_row(name=""),
        person_row(main=""),
        person_row(name="A B", main="kazoo"),
        person_row(name="A C", doubles="trumpet; kazoo"),
        person_row(name="A D", years="two"),
        person_row(name="A E", years=21),
        person_row(name="A F", email="a@"),
        person_row(name="A G", status="gone"),
        person_row(name="A H", listed="perhaps"),
        person_row(name="A I", cleared="until"),
        person_row(name="A J", eligible="soon"),
        person_row(name="A K", own="Tumpet"),
        person_row(name="A" * 201),
        person_row(name="A L", number="9" * 41),
        person_row(name="A M", phone="9" * 41),
        person_row(name="A N", email=f"{'a' * 60}@{'b' * 63}.{'c' * 63}.{'d' * 63}.example"),
        person_row(name="A O", number="88"),
        person_row(name="A P", number="88"),
        person_row(name="Fay Ashgrove"),
        person_row(**ANA),
        person_row(name="ana nunez"),
        person_row(name="A Q", number="4418"),
        person_row(name="A R", main="Same"),
        person_row(name="Bo Larkspur", main="clarinet"),
        person_row(name="Ida Voss", main="clarinet"),
        person_row(name="Cai Ørnberg", years=2, status="left"),
        person_row(name="ﷺ" * 90),
    ) == [
        (2, "legal name"),
        (3, "main part"),
        (4, "main part"),
        (5, "also plays"),
        (6, "years marched"),
        (7, "years marched"),
        (8, "email"),
        (9, "status"),
        (10, "listed"),
        (11, "cleared"),
        (12, "eligible"),
        (13, "own instruments"),
        (14, "legal name"),
        (15, "student number"),
        (16, "phone"),
        (17, "email"),
        (18, "student number"),
        (19, "student number"),
        (20, "legal name"),
        (22, "legal name"),
        (23, "student number"),
        (24, "main part"),
        (25, "main part"),
        (26, "main part"),
        (27, "status"),
        (28, "legal name"),
    ]


def test_a_namesake_of_somebody_known_is_a_warning(members: Desk) -> None:
    plan = members.plan(person_row(number="999999", name="Dee Quill", main="clarinet"))
    assert actions(plan) == ["add"]
    assert plan.warnings[0].message.startswith("Another person called Dee Quill is there")


def test_a_person_of_an_earlier_season_joins_this_one(members: Desk) -> None:
    person = Person.objects.create(legal_name="Old Hand", student_number="000700")
    members.accept(person_row(number="000700", name="Old Hand", years=3))
    assert Member.objects.get(person=person).years_marched == 3


# Ranks and spots


@pytest.fixture
def ranks(band: Band, cast: Cast) -> Desk:
    return Desk(
        band, cast, "ranks", "rank", "spot", "part", "weight", "needs experience", "holder", "role"
    )


def spot_row(
    spot: str, part: str, holder: str = "", role: str = "", **more: object
) -> list[object]:
    rank = more.get("rank", "")
    return [rank, spot, part, more.get("weight", ""), more.get("experience", ""), holder, role]


def test_spots_are_added_changed_and_left(ranks: Desk) -> None:
    ranks.band.member("New Tuba", "sousaphone")
    rows = [
        spot_row("1-1", "trumpet", "004417", "leader"),
        spot_row("1-2", "Trumpet", "Bo Larkspur", "second", weight=3),
        spot_row("3-11", "sousaphone", "new tuba", "leader", weight=5, experience="yes"),
    ]
    assert actions(ranks.plan(*rows)) == ["same", "change", "add"]
    ranks.accept(*rows)
    rank = Rank.objects.get(label="3")
    assert (rank.order, str(rank.leader)) == (3, "New Tuba")
    spot = Spot.objects.get(rank=rank)
    assert (spot.number, spot.weight, spot.needs_experience) == (11, 5, True)
    assert Holding.objects.get(spot=spot).starts == ranks.band.season.starts


@pytest.mark.parametrize("written", [("Rank 1", "6"), ("1", "6"), ("", "1-6"), ("rank 1", "1 - 6")])
def test_a_spot_is_written_in_any_usual_way(ranks: Desk, written: tuple[str, str]) -> None:
    rank, spot = written
    ranks.accept(spot_row(spot, "trumpet", rank=rank))
    assert Spot.objects.filter(rank__label="1", number=6).exists()
    assert Rank.objects.count() == 2


@pytest.mark.parametrize("days", [0, 60], ids=["before the season", "in the season"])
def test_two_holders_swap_and_leader_and_second_too(ranks: Desk, days: int) -> None:
    today = running(ranks.band) if days else ranks.band.season.starts
    rows = [
        spot_row("1-1", "trumpet", "Bo Larkspur", "leader"),
        spot_row("1-2", "trumpet", "Ana Núñez", "second"),
    ]
    plan = ranks.plan(*rows)
    assert set(changes(plan)) == {
        ("holder", "Ana Núñez", "Bo Larkspur"),
        ("holder", "Bo Larkspur", "Ana Núñez"),
        ("leader", "Ana Núñez", "Bo Larkspur"),
        ("second", "Bo Larkspur", "Ana Núñez"),
    }
    ranks.accept(*rows)
    assert (holder("1-1"), holder("1-2")) == ("Bo Larkspur", "Ana Núñez")
    rank = Rank.objects.get(label="1")
    assert (str(rank.leader), str(rank.second)) == ("Bo Larkspur", "Ana Núñez")
    ends = set(Holding.objects.filter(spot__rank=rank, ends__isnull=False).values_list("ends"))
    assert ends == ({(today,)} if days else set())


def test_a_second_who_becomes_leader_leaves_the_second_s_place(ranks: Desk) -> None:
    rows = [spot_row("1-2", "trumpet", "Bo Larkspur", "leader")]
    assert set(changes(ranks.plan(*rows))) == {
        ("leader", "Ana Núñez", "Bo Larkspur"),
        ("second", "Bo Larkspur", ""),
    }
    ranks.accept(*rows)
    rank = Rank.objects.get(label="1")
    assert (str(rank.leader), rank.second) == ("Bo Larkspur", None)


@pytest.mark.parametrize("days", [0, 60], ids=["before the season", "in the season"])
@pytest.mark.parametrize("spot", ["2-2", "2-9"], ids=["a spot held", "a new spot"])
def test_a_holder_from_elsewhere_leaves_the_old_spot_and_the_preview_says_so(
    ranks: Desk, days: int, spot: str
) -> None:
    if days:
        running(ranks.band)
    rows = [spot_row(spot, "trumpet", "Cai Ørnberg")]
    plan = ranks.plan(*rows)
    assert ("holder", "Cai Ørnberg", "") in changes(plan)
    assert [line.label for line in plan.lines if line.label] == [spot, "1-3"]
    ranks.accept(*rows)
    assert (holder(spot), holder("1-3")) == ("Cai Ørnberg", "")
    assert Holding.objects.filter(member__person__legal_name="Gus Tamm").exists() == bool(
        days or spot == "2-9"
    )


def test_an_empty_spot_of_old_takes_a_new_holder_from_today(ranks: Desk) -> None:
    today = running(ranks.band)
    gone = today - datetime.timedelta(days=9)
    Holding.objects.filter(spot=ranks.band.spots["1-3"]).update(ends=gone)
    ranks.accept(spot_row("1-3", "trumpet", "Ida Voss"))
    holding = Holding.objects.get(spot=ranks.band.spots["1-3"], ends__isnull=True)
    assert holding.starts == today


def test_after_the_season_a_change_falls_on_its_last_day(ranks: Desk) -> None:
    today = running(ranks.band)
    ranks.band.season.ends = today - datetime.timedelta(days=9)
    ranks.band.season.save()
    ranks.accept(spot_row("1-1", "trumpet", "Ida Voss"))
    holding = Holding.objects.get(spot=ranks.band.spots["1-1"], ends__isnull=True)
    assert holding.starts == ranks.band.season.ends


def test_an_alternate_who_gets_a_spot_is_one_no_longer(ranks: Desk) -> None:
    rows = [spot_row("1-6", "trumpet", "Ida Voss")]
    assert ("place as alternate", "Rank 1, standing 1", "") in changes(ranks.plan(*rows))
    ranks.accept(*rows)
    places = AlternatePlace.objects.filter(rank=ranks.band.ranks["1"])
    assert [(p.member.name, p.standing) for p in places] == [("Jon Pell", 1)]


def test_an_empty_holder_vacates_and_a_missing_column_does_not(ranks: Desk) -> None:
    band, cast = ranks.band, ranks.cast
    content = csv_file(["spot", "part"], ["1-3", "trumpet"])
    assert all_same(plan_of("ranks", content, band.season, cast.staff))
    ranks.accept(spot_row("1-3", "trumpet"))
    assert holder("1-3") == ""


def test_every_fault_of_spots_is_named(ranks: Desk) -> None:
    band = ranks.band
    band.member("Two Same", "trumpet")
    Person.objects.filter(legal_name="Eno Farrow").update(used_name="Two Same")
    assert ranks.faults(
        spot_row("11-May", "trumpet"),
        spot_row("2026-05-11", "trumpet"),
        spot_row("45422", "trumpet"),
        spot_row("", "trumpet"),
        spot_row("1-0", "trumpet"),
        spot_row("12345", "trumpet", rank="1"),
        spot_row("²", "trumpet", rank="1"),
        spot_row("2-4", "trumpet", rank="1"),
        spot_row("9" * 21 + "-1", "trumpet"),
        spot_row("+-1", "trumpet"),
        spot_row("4-1", "kazoo"),
        spot_row("4-2", "trumpet", weight=6),
        spot_row("4-3", "trumpet", weight="heavy"),
        spot_row("4-4", "trumpet", experience="some"),
        spot_row("4-5", "trumpet", "Nobody Here"),
        spot_row("4-6", "trumpet", "Two Same"),
        spot_row("4-7", "trumpet", "4417"),
        spot_row("4-8", "trumpet", "Dee Quill"),
        spot_row("4-9", "trumpet", "Kit Moss"),
        spot_row("4-10", "trumpet", "Kit Moss"),
        spot_row("4-9", "trumpet"),
        spot_row("4-11", "trumpet", "Ida Voss", "boss"),
        spot_row("4-12", "trumpet", "", "leader"),
        spot_row("4-13", "trumpet", "Jon Pell", "leader"),
        spot_row("4-14", "trumpet", "Gus Tamm", "leader"),
    ) == [
        *((row, "spot") for row in range(2, 12)),
        (12, "part"),
        (13, "weight"),
        (14, "weight"),
        (15, "needs experience"),
        (16, "holder"),
        (17, "holder"),
        (18, "holder"),
        (19, "holder"),
        (21, "holder"),
        (22, "spot"),
        (23, "role"),
        (24, "role"),
        (25, "role"),
        (26, "role"),
    ]


def test_a_spot_s_new_part_must_be_played_by_who_holds_it(ranks: Desk) -> None:
    assert ranks.faults(spot_row("1-1", "clarinet", "Ana Núñez")) == [(2, "holder")]
    content = csv_file(["spot", "part"], ["1-1", "clarinet"])
    plan = plan_of("ranks", content, ranks.band.season, ranks.cast.staff)
    assert faults(plan) == [(2, "part")]


def test_a_holding_that_ends_later_is_named_before_anything_is_done(ranks: Desk) -> None:
    today = running(ranks.band)
    later = today + datetime.timedelta(days=9)
    Holding.objects.filter(spot=ranks.band.spots["1-3"]).update(ends=later)
    assert ranks.faults(
        spot_row("1-3", "trumpet", "Ida Voss"), spot_row("1-7", "trumpet", "Cai Ørnberg")
    ) == [(2, "holder"), (3, "holder")]


# Alternates


@pytest.fixture
def alternates(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "alternates", "member", "rank", "part", "standing")


def order(band: Band, rank: str = "1") -> list[tuple[str, int | None]]:
    places = AlternatePlace.objects.filter(rank=band.ranks[rank]).order_by("standing")
    return [(p.member.name, p.standing) for p in places]


def test_alternates_are_added_changed_and_left(alternates: Desk) -> None:
    alternates.band.member("New Alt", "trumpet")
    rows: Rows = [
        ["Ida Voss", "1", "trumpet", 1],
        ["New Alt", "Rank 1", "", 2],
        ["004426", "1", "trumpet", 3],
    ]
    plan = alternates.plan(*rows)
    assert actions(plan) == ["same", "add", "change"]
    assert changes(plan) == [
        ("place", "Rank 1, Trumpet, standing 2", "Rank 1, Trumpet, standing 3")
    ]
    alternates.accept(*rows)
    assert order(alternates.band) == [("Ida Voss", 1), ("New Alt", 2), ("Jon Pell", 3)]


def test_alternates_swap_standings(alternates: Desk) -> None:
    kept = set(AlternatePlace.objects.values_list("pk", "member_id"))
    alternates.accept(["Jon Pell", 1, "trumpet", 1], ["Ida Voss", 1, "trumpet", 2])
    assert order(alternates.band) == [("Jon Pell", 1), ("Ida Voss", 2)]
    assert set(AlternatePlace.objects.values_list("pk", "member_id")) == kept


def test_an_alternate_put_first_moves_the_unnamed_back_and_that_is_shown(alternates: Desk) -> None:
    plan = alternates.plan(["Jon Pell", 1, "trumpet", 1])
    assert {line.label: line.row for line in plan.lines} == {
        "Jon Pell, Rank 1, Trumpet, standing 1": 2,
        "Ida Voss, Rank 1, Trumpet, standing 2": 0,
    }
    alternates.accept(["Jon Pell", 1, "trumpet", 1])
    assert order(alternates.band) == [("Jon Pell", 1), ("Ida Voss", 2)]


def test_alternates_of_two_ranks_change_places(alternates: Desk) -> None:
    rows: Rows = [["Kit Moss", 1, "trumpet", 1], ["Ida Voss", 2, "trumpet", 1]]
    alternates.accept(*rows)
    assert order(alternates.band) == [("Kit Moss", 1), ("Jon Pell", 2)]
    assert order(alternates.band, "2") == [("Ida Voss", 1)]


def test_those_behind_one_who_leaves_move_up(alternates: Desk) -> None:
    alternates.accept(["Ida Voss", 2, "trumpet", 1])
    assert order(alternates.band) == [("Jon Pell", 1)]
    assert order(alternates.band, "2") == [("Ida Voss", 1), ("Kit Moss", 2)]


def test_without_standings_the_file_s_order_counts(alternates: Desk) -> None:
    alternates.accept(["Jon Pell", 1, "trumpet", ""], ["Ida Voss", 1, "trumpet", ""])
    assert order(alternates.band) == [("Jon Pell", 1), ("Ida Voss", 2)]
    alternates.band.member("New Alt", "trumpet")
    alternates.accept(["New Alt", 1, "trumpet", ""])
    assert order(alternates.band)[-1] == ("New Alt", 3)
    assert all_same(alternates.plan(["Jon Pell", 1, "trumpet", ""]))


def test_a_gap_in_the_standings_goes_out_and_comes_in(alternates: Desk) -> None:
    AlternatePlace.objects.filter(member=alternates.band.members["Ida Voss"]).delete()
    assert all_same(alternates.plan(["Jon Pell", 1, "trumpet", 2]))


def test_every_fault_of_alternates_is_named(alternates: Desk) -> None:
    partless = alternates.band.member("Part Less", "trumpet")
    partless.qualifications.update(main=False)
    assert alternates.faults(
        ["Nobody Here", 1, "trumpet", 1],
        ["Ida Voss", 9, "trumpet", 1],
        ["Ida Voss", "", "trumpet", 1],
        ["Ida Voss", 1, "kazoo", 1],
        ["Ida Voss", 1, "clarinet", 1],
        ["Ana Núñez", 1, "trumpet", 1],
        ["Ida Voss", 1, "trumpet", "first"],
        ["Ida Voss", 1, "trumpet", 0],
        ["Ida Voss", 1, "trumpet", 1],
        ["Jon Pell", 1, "trumpet", 1],
        ["Ida Voss", 2, "trumpet", 1],
        ["Part Less", 1, "", 4],
    ) == [
        (2, "member"),
        (3, "rank"),
        (4, "rank"),
        (5, "part"),
        (6, "member"),
        (7, "member"),
        (8, "standing"),
        (9, "standing"),
        (11, "standing"),
        (12, "member"),
        (13, "part"),
    ]


def test_a_preview_is_stale_when_an_unnamed_alternate_moved(alternates: Desk) -> None:
    content = alternates.file(["Jon Pell", 1, "trumpet", 1])
    first = plan_of("alternates", content, alternates.band.season, alternates.cast.staff)
    AlternatePlace.objects.filter(member=alternates.band.members["Ida Voss"]).delete()
    again = plan_of("alternates", content, alternates.band.season, alternates.cast.staff)
    assert first.digest != again.digest


def test_faults_save_nothing(ranks: Desk) -> None:
    before = dump()
    with pytest.raises(Refused):
        ranks.accept(spot_row("1-9", "trumpet"), spot_row("1-10", "kazoo"))
    assert dump() == before
