"""The marching record: the first guess, what is refused, and what is corrected."""

from __future__ import annotations

import pytest

from bandops.lib.errors import Overtaken, Refused
from drill.events.enums import TravelState
from drill.events.models import Traveller, TravelList
from drill.lineup.models import Lineup
from drill.record import queries as record_queries
from drill.record.core.record import Outcome
from drill.record.enums import RecordOutcome
from drill.record.models import MarchingRecord, RecordEntry
from drill.record.services.record import correct_entry
from drill.record.services.record_sheet import Choice, sheet
from roster.people.models import Member
from tests.architecture.many import write_lineup
from tests.drill.record.marching_record import AFTER, confirm, out, played
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("counts with conditions")]


def outcomes(record: MarchingRecord, member: Member) -> list[str]:
    entries = RecordEntry.objects.filter(record=record, member=member).order_by("segment__order")
    return [t.now for t in entries]


def test_the_first_guess_comes_from_the_newest_revision_and_the_absences(
    band: Band, cast: Cast
) -> None:
    lineup = played(band, cast, 5)
    out(band, cast, "Cai Ørnberg", lineup.event)
    out(band, cast, "Jon Pell", lineup.event)
    Member.objects.filter(pk=band.members["Kit Moss"].pk).update(cleared="no")
    band.member("No Place", "trumpet")
    record = confirm(cast, lineup)
    expected = {
        "Ana Núñez": "marched 1-1",
        "Cai Ørnberg": "was placed, did not march",
        "Ida Voss": "stood by in uniform",
        "Jon Pell": "was not there",
        "Kit Moss": "was not there",
        "No Place": "was not there",
    }
    for name, words in expected.items():
        assert outcomes(record, band.members[name]) == [words] * 2, name
    missed = RecordEntry.objects.filter(record=record, member=band.members["Cai Ørnberg"])
    assert {t.spot for t in missed} == {band.spots["1-3"]}, "with the place they had"


def test_the_newest_revision_is_the_end_of_the_day(band: Band, cast: Cast) -> None:
    """What the game-day desk changed is a revision of its own."""
    first = played(band, cast, 5)
    second = write_lineup(first.event, cast.staff, None)
    ida, cai = band.members["Ida Voss"], band.members["Cai Ørnberg"]
    second.rows.filter(spot=band.spots["1-3"]).update(member=ida, origin="stands in")
    Lineup.objects.filter(pk=second.pk).update(number=2, state="published")
    with pytest.raises(Overtaken, match="Revision 2 was just published"):
        confirm(cast, first)
    record = confirm(cast, second)
    assert outcomes(record, ida) == ["marched 1-3"] * 2
    assert outcomes(record, cai) == ["stood by in uniform"] * 2


def test_who_was_not_on_the_bus_did_not_stand_by(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    travel = TravelList.objects.create(event=lineup.event)
    Traveller.objects.create(list=travel, member=band.members["Ida Voss"], role="backup")
    jon = band.members["Jon Pell"]
    segment = lineup.event.segments.get(order=1)
    assert sheet(lineup.event, lineup).guesses[segment.pk, jon.pk].outcome is Outcome.STOOD_BY
    TravelList.objects.filter(pk=travel.pk).update(
        state=TravelState.POSTED, posted_at="2099-09-01T12:00Z"
    )
    record = confirm(cast, lineup)
    assert outcomes(record, jon) == ["was not there"] * 2
    assert outcomes(record, band.members["Ida Voss"]) == ["stood by in uniform"] * 2


def test_nothing_is_confirmed_twice_too_early_or_for_a_rehearsal(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    confirm(cast, lineup)
    entries = RecordEntry.objects.count()
    with pytest.raises(Refused, match="already confirmed by Staff"):
        confirm(cast, lineup)
    assert RecordEntry.objects.count() == entries
    with pytest.raises(Refused, match="is not a past performance"):
        confirm(cast, played(band, cast, 12, "rehearsal"))
    with pytest.raises(Refused, match="is not a past performance"):
        confirm(cast, write_lineup(band.event, cast.staff, 1))


def test_two_people_did_not_march_one_spot(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    told = {(1, band.members["Ida Voss"]): Choice(Outcome.MARCHED, band.spots["1-3"].pk)}
    with pytest.raises(Refused) as refusal:
        confirm(cast, lineup, told)
    assert refusal.value.details == ("Run 1 1-3: Cai Ørnberg and Ida Voss",)
    assert not MarchingRecord.objects.exists() and not RecordEntry.objects.exists()


def test_a_correction_keeps_what_was_first_confirmed(band: Band, cast: Cast) -> None:
    record = confirm(cast, played(band, cast, 5))
    ida, cai = band.members["Ida Voss"], band.members["Cai Ørnberg"]
    of_ida, of_cai = (
        RecordEntry.objects.filter(record=record, member=m).earliest("pk") for m in (ida, cai)
    )
    third = band.spots["1-3"]

    def correct(
        entry: RecordEntry, outcome: RecordOutcome, note: str = "seen on film"
    ) -> RecordEntry:
        spot = third if outcome == RecordOutcome.MARCHED else None
        return correct_entry(
            actor=cast.director, entry=entry, outcome=outcome, spot=spot, note=note
        )

    with pytest.raises(Refused, match="Cai Ørnberg is in the record for 1-3 in Run 1"):
        correct(of_ida, RecordOutcome.MARCHED)
    with pytest.raises(Refused, match="Say why"):
        correct(of_cai, RecordOutcome.STOOD_BY, " ")
    correct(of_cai, RecordOutcome.STOOD_BY)
    made = correct(of_ida, RecordOutcome.MARCHED)
    with pytest.raises(Refused, match="The record already says that"):
        correct(of_ida, RecordOutcome.MARCHED)
    assert (made.now, made.first) == ("marched 1-3", "stood by in uniform")
    assert (made.note, made.corrected_by) == ("seen on film", cast.director)
    of_cai.refresh_from_db()
    assert (of_cai.now, of_cai.first) == ("stood by in uniform", "marched 1-3")
    share = record_queries.record_counts(band.season, AFTER)[ida.pk]
    assert (share.marched, share.available) == (1, 2), "the solver reads the corrected record"
