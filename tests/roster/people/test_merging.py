"""Two entries that are one person: found, merged, and taken apart again."""

from __future__ import annotations

import datetime

import pytest

from bandops.lib.alike import Shared
from bandops.lib.errors import Refused
from drill.absences.models import Absence
from drill.lineup.core.problem import Origin
from drill.lineup.models import Backup, Lineup, LineupRow
from drill.publishing.models import Notice
from drill.record.models import MarchingRecord, RecordEntry
from drill.record.queries import record_counts
from drill.rehearsals.models import Practice
from drill.shows.models import Show
from roster.people.lookup import MemberIndex
from roster.people.models import DifferentPeople, Member, Person, Qualification, Season
from roster.people.services import alike, merging
from roster.people.viewer import viewer_of
from roster.ranks.models import AlternatePlace, Holding
from tests.factories import Band, Cast
from tests.factories.cast import account_of
from tests.lib.imports_help import all_same, csv_file, dump, plan_of

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("rows move until a constraint refuses them"),
]


@pytest.fixture
def peg(band: Band) -> Member:
    """Ida Voss once more, under another name, with parts of her own."""
    return band.member("Aida Voss", "clarinet", "trumpet", phone="555 010 4477")


def merge(cast: Cast, stays: Member, goes: Member, **choices: str) -> merging.Merged:
    return merging.merge_people(
        actor=cast.staff, stays=stays.person, goes=goes.person, choices=choices
    )


def fresh(member: Member) -> Member:
    return Member.objects.select_related("person").get(pk=member.pk)


def test_all_of_one_becomes_the_others(band: Band, cast: Cast, peg: Member) -> None:
    ida, show = band.members["Ida Voss"], Show.objects.get()
    Absence.objects.create(member=peg, event=band.event, kind="out", reported_by=cast.staff)
    Backup.objects.create(member=peg, spot=band.spots["1-1"], order=1)
    Practice.objects.create(member=peg, spot=band.spots["1-1"], show=show, sets=4)
    band.event.must_travel.add(peg)
    result = merge(cast, ida, peg)
    assert {line.what: line.moved for line in result.shown} == {
        "absence": 1, "backup": 1, "practice": 1, "must travel": 1,
    }  # fmt: skip
    for rows in (ida.absences, ida.backups, ida.practice, ida.must_travel_to):
        assert rows.count() == 1
    assert (fresh(ida).phone, fresh(peg).status) == ("555 010 4477", "left")


def test_where_both_have_the_same_the_one_who_stays_keeps_theirs(
    band: Band, cast: Cast, peg: Member
) -> None:
    ida = band.members["Ida Voss"]
    Backup.objects.create(member=ida, spot=band.spots["1-1"], order=1)
    for number, label in enumerate(("1-1", "1-2"), 2):
        Backup.objects.create(member=peg, spot=band.spots[label], order=number)
    result = merge(cast, ida, peg)
    backups = result.tables["backup"]
    assert (backups.moved, backups.given_up) == (1, ["Aida Voss is a backup for 1-1"])
    assert set(ida.backups.values_list("spot__number", "order")) == {(1, 1), (2, 3)}


def test_two_main_parts_leave_one(band: Band, cast: Cast, peg: Member) -> None:
    ida = band.members["Ida Voss"]
    result = merge(cast, ida, peg)
    assert "Two main parts: Trumpet stays the main one, Clarinet a double." in result.notes
    assert {(q.part.code, q.main) for q in ida.qualifications.all()} == {
        ("trumpet", True),
        ("clarinet", False),
    }
    assert not Qualification.objects.filter(member=peg).exists()


def test_it_is_taken_apart_again_in_one_step(band: Band, cast: Cast, peg: Member) -> None:
    ida = band.members["Ida Voss"]
    band.alternate("1", "clarinet", peg, 1)
    for spot, order in (("1-1", 1), ("1-2", 1)):
        Backup.objects.create(member=peg, spot=band.spots[spot], order=order)
    Backup.objects.create(member=ida, spot=band.spots["1-1"], order=2)
    before = dump()
    merge(cast, ida, peg, email="goes", student_number="goes", phone="goes")
    assert dump() != before
    merging.undo_merge(actor=cast.staff, person=Person.objects.get(pk=peg.person_id))
    after = dump()
    after.pop("lib_takenback"), before.pop("lib_takenback")
    assert after == before
    with pytest.raises(Refused, match="already"):
        merging.undo_merge(actor=cast.staff, person=Person.objects.get(pk=peg.person_id))


def test_what_was_used_since_is_not_taken_apart(band: Band, cast: Cast, peg: Member) -> None:
    entry = Absence.objects.create(member=peg, event=band.event, kind="out")
    merge(cast, band.members["Ida Voss"], peg)
    Absence.objects.filter(pk=entry.pk).update(state="withdrawn")
    with pytest.raises(Refused, match="used it since"):
        merging.undo_merge(actor=cast.staff, person=Person.objects.get(pk=peg.person_id))


def test_a_preview_says_what_a_merge_does_and_does_nothing(
    band: Band, cast: Cast, peg: Member
) -> None:
    Absence.objects.create(member=peg, event=band.event, kind="out", reported_by=cast.staff)
    ida, before = band.members["Ida Voss"], dump()
    seen = merging.preview(actor=cast.staff, stays=ida.person, goes=peg.person)
    assert dump() == before
    assert seen == merge(cast, ida, peg)


def test_two_spots_on_the_same_days_are_in_the_way(band: Band, cast: Cast) -> None:
    with pytest.raises(Refused) as caught:
        merge(cast, band.members["Ana Núñez"], band.members["Bo Larkspur"])
    assert caught.value.details == (
        "Ana Núñez holds 1-1 and Bo Larkspur holds 1-2 on the same days: end one of them first.",
    )


def test_spots_one_after_the_other_are_one_past(band: Band, cast: Cast, peg: Member) -> None:
    day = band.season.starts + datetime.timedelta(days=9)
    ana = band.members["Ana Núñez"]
    Holding.objects.filter(member=ana).update(starts=day)
    spot = band.spot("1", 9, "trumpet")
    Holding.objects.create(spot=spot, member=peg, starts=band.season.starts, ends=day)
    merge(cast, ana, peg)
    assert ana.holdings.count() == 2


def test_a_holder_who_was_an_alternate_too_gives_that_place_up(band: Band, cast: Cast) -> None:
    result = merge(cast, band.members["Ana Núñez"], band.members["Ida Voss"])
    assert result.notes[0].startswith("No longer an alternate: Ida Voss")
    assert AlternatePlace.objects.get(member=band.members["Jon Pell"]).standing == 1


def published(band: Band, day: datetime.date, *placed: tuple[str, Member]) -> Lineup:
    band.event.date = day
    band.event.save()
    lineup = Lineup.objects.create(event=band.event)
    for spot, member in placed:
        LineupRow.objects.create(
            lineup=lineup,
            segment=band.halftime,
            spot=band.spots[spot],
            member=member,
            origin="holds",
        )
        Notice.objects.create(lineup=lineup, member=member)
    Lineup.objects.filter(pk=lineup.pk).update(state="published", number=1)
    return lineup


def test_a_published_lineup_stays_and_its_record_counts_for_the_one(
    band: Band, cast: Cast, peg: Member
) -> None:
    ida, today = band.members["Ida Voss"], datetime.date(2020, 10, 3)
    lineup = published(band, today, ("1-1", peg))
    result = merge(cast, ida, peg)
    assert lineup.rows.get().member == peg
    assert Notice.objects.get().member == peg
    assert result.tables["notice"].stayed == 1
    counts = record_counts(band.season, datetime.date(2021, 1, 1))
    assert counts[ida.pk].marched == 1
    assert peg.pk not in counts


def test_a_confirmed_record_moves_and_stays_where_both_have_one(
    band: Band, cast: Cast, peg: Member
) -> None:
    ida = band.members["Ida Voss"]
    lineup = published(band, datetime.date(2020, 10, 3), ("1-1", peg))
    record = MarchingRecord.objects.create(event=band.event, lineup=lineup)
    for segment, member in (
        (band.pregame, peg),
        (band.halftime, peg),
        (band.halftime, ida),
    ):
        RecordEntry.objects.create(
            record=record,
            segment=segment,
            member=member,
            outcome="offered",
            first_outcome="offered",
        )
    result = merge(cast, ida, peg)
    assert (result.tables["record entry"].moved, result.tables["record entry"].stayed) == (1, 1)
    assert ida.record_entries.count() == 2


def test_who_stands_in_what_is_published_to_come_is_the_one_who_stays(
    band: Band, cast: Cast, peg: Member
) -> None:
    ida = band.members["Ida Voss"]
    published(band, band.event.date, ("1-1", peg))
    with pytest.raises(Refused) as caught:
        merge(cast, ida, peg)
    assert "keep that entry" in caught.value.details[0]
    merge(cast, peg, ida)


def test_both_in_what_is_published_to_come_are_in_the_way(
    band: Band, cast: Cast, peg: Member
) -> None:
    ida = band.members["Ida Voss"]
    published(band, band.event.date, ("1-1", peg), ("1-2", ida))
    with pytest.raises(Refused) as caught:
        merge(cast, ida, peg)
    assert "publish a revision without one of them first" in caught.value.details[0]


def test_a_draft_takes_it_up(band: Band, cast: Cast, peg: Member) -> None:
    ida = band.members["Ida Voss"]
    draft = Lineup.objects.create(event=band.event)
    for segment, spot, member in (
        (band.pregame, "1-1", peg),
        (band.halftime, "1-1", peg),
        (band.halftime, "1-2", ida),
    ):
        LineupRow.objects.create(
            lineup=draft,
            segment=segment,
            spot=band.spots[spot],
            member=member,
            origin=Origin.STANDS_IN,
        )
    result = merge(cast, ida, peg)
    assert result.notes[0].endswith("takes it up; 1 spot is open now.")
    rows = draft.rows.values_list("segment__name", "spot__number", "member", "origin")
    assert set(rows) == {
        ("Pregame", 1, ida.pk, Origin.STANDS_IN),
        ("Halftime", 1, None, Origin.HOLE),
        ("Halftime", 2, ida.pk, Origin.STANDS_IN),
    }
    draft.refresh_from_db()
    assert draft.version == 2


def test_seasons_of_two_entries_become_one_past(band: Band, cast: Cast) -> None:
    former = Season.objects.create(
        name="2098",
        band_name="Quillwater",
        starts=datetime.date(2098, 8, 1),
        ends=datetime.date(2098, 12, 1),
    )
    old = Person.objects.create(legal_name="Ida Vos", student_number="17")
    past = Member.objects.create(person=old, season=former)
    ida = band.members["Ida Voss"]
    merging.merge_people(actor=cast.staff, stays=ida.person, goes=old)
    past.refresh_from_db()
    assert (past.person, past.status) == (ida.person, "active")


def test_names_numbers_and_addresses_of_both_find_the_one(
    band: Band, cast: Cast, peg: Member
) -> None:
    ida = band.members["Ida Voss"]
    merge(cast, ida, peg, student_number="goes")
    number = fresh(ida).person.student_number
    assert number == "004428"
    members = MemberIndex(band.season)
    for text in ("004428", "004425", "Aida Voss", "ida.voss@quillwater.example", "VOSS, AIDA"):
        assert members.find(text) == ida, text
    assert peg not in members.members


def test_a_file_that_still_has_the_other_entry_changes_nothing(
    band: Band, cast: Cast, peg: Member
) -> None:
    merge(cast, band.members["Ida Voss"], peg)
    content = csv_file(
        ["student number", "legal name", "email", "main part"],
        [peg.person.student_number, "Aida Voss", peg.person.email, "trumpet"],
    )
    assert all_same(plan_of("members", content, band.season, cast.staff))


def test_either_account_opens_the_one(band: Band, cast: Cast, peg: Member) -> None:
    ida = band.members["Ida Voss"]
    mine, theirs = account_of(ida), account_of(peg)
    merge(cast, fresh(ida), fresh(peg))
    assert viewer_of(mine).member == viewer_of(theirs).member == ida


def test_an_only_account_moves(band: Band, cast: Cast, peg: Member) -> None:
    ida, user = band.members["Ida Voss"], account_of(peg)
    merge(cast, ida, fresh(peg))
    assert fresh(ida).person.user == user


def test_the_stricter_clearance_counts(band: Band, cast: Cast, peg: Member) -> None:
    ida = band.members["Ida Voss"]
    Member.objects.filter(pk=peg.pk).update(cleared="no", cleared_by="the trainer")
    Member.objects.filter(pk=ida.pk).update(eligible="until", eligible_until="2099-10-01")
    merge(cast, ida, peg)
    now = fresh(ida)
    assert (now.cleared, now.cleared_by, now.eligible) == ("no", "the trainer", "until")


def test_a_leader_of_one_rank_twice_leads_it_once(band: Band, cast: Cast, peg: Member) -> None:
    ida, rank = band.members["Ida Voss"], band.ranks["1"]
    rank.leader, rank.assistant_leader = ida, peg
    rank.save()
    merge(cast, ida, peg)
    rank.refresh_from_db()
    assert (rank.leader_id, rank.assistant_leader_id) == (ida.pk, None)


def test_people_who_may_be_one_are_listed_until_staff_say_two(
    band: Band, cast: Cast, peg: Member
) -> None:
    Person.objects.filter(pk=peg.person_id).update(email="IDA.voss@Quillwater.example ")
    ((pair),) = alike.pairs(band.season)
    assert (pair.first.name, pair.second.name) == ("Ida Voss", "Aida Voss")
    assert pair.shared == (Shared.EMAIL,)
    alike.say_different(actor=cast.staff, one=pair.second, other=pair.first)
    assert not alike.pairs(band.season)
    assert DifferentPeople.objects.count() == 1


def test_merging_twice_keeps_all_that_was_merged(band: Band, cast: Cast, peg: Member) -> None:
    ida, jon = band.members["Ida Voss"], band.members["Jon Pell"]
    AlternatePlace.objects.all().delete()
    merge(cast, ida, peg)
    merge(cast, jon, fresh(ida))
    assert MemberIndex(band.season).find("Aida Voss") == jon
    with pytest.raises(Refused, match="merged"):
        merge(cast, fresh(peg), jon)
