"""The turn book: the first guess, what is refused, and what is corrected."""

from __future__ import annotations

import pytest

from bandops.lib.errors import Overtaken, Refused
from drill.events.enums import TravelState
from drill.events.models import Traveller, TravelList
from drill.lineup.models import Lineup
from drill.record import queries as record_queries
from drill.record.core.turns import Outcome
from drill.record.enums import TurnOutcome
from drill.record.models import Turn, TurnBook
from drill.record.services.turn_sheet import Choice, sheet
from drill.record.services.turns import correct_turn
from roster.people.models import Member
from tests.architecture.many import write_lineup
from tests.drill.record.turn_book import AFTER, confirm, out, played
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("counts with conditions")]


def outcomes(book: TurnBook, member: Member) -> list[str]:
    turns = Turn.objects.filter(book=book, member=member).order_by("segment__order")
    return [t.now for t in turns]


def test_the_first_guess_comes_from_the_newest_revision_and_the_absences(
    band: Band, cast: Cast
) -> None:
    lineup = played(band, cast, 5)
    out(band, cast, "Cai Ørnberg", lineup.event)
    out(band, cast, "Jon Pell", lineup.event)
    Member.objects.filter(pk=band.members["Kit Moss"].pk).update(cleared="no")
    band.member("No Place", "trumpet")
    book = confirm(cast, lineup)
    expected = {
        "Ana Núñez": "marched 1-1",
        "Cai Ørnberg": "was placed, did not march",
        "Ida Voss": "stood by, dressed",
        "Jon Pell": "was not there",
        "Kit Moss": "was not there",
        "No Place": "was not there",
    }
    for name, words in expected.items():
        assert outcomes(book, band.members[name]) == [words] * 2, name
    missed = Turn.objects.filter(book=book, member=band.members["Cai Ørnberg"])
    assert {t.spot for t in missed} == {band.spots["1-3"]}, "with the place they had"


def test_the_newest_revision_is_the_end_of_the_day(band: Band, cast: Cast) -> None:
    """What the game-day desk changed is a revision of its own."""
    first = played(band, cast, 5)
    second = write_lineup(first.event, cast.staff, None)
    ida, cai = band.members["Ida Voss"], band.members["Cai Ørnberg"]
    second.rows.filter(spot=band.spots["1-3"]).update(member=ida, origin="stands in")
    Lineup.objects.filter(pk=second.pk).update(number=2, state="published")
    with pytest.raises(Overtaken, match="Revision 2 was published meanwhile"):
        confirm(cast, first)
    book = confirm(cast, second)
    assert outcomes(book, ida) == ["marched 1-3"] * 2
    assert outcomes(book, cai) == ["stood by, dressed"] * 2


def test_who_was_not_on_the_bus_did_not_stand_by(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    travel = TravelList.objects.create(event=lineup.event)
    Traveller.objects.create(list=travel, member=band.members["Ida Voss"], role="cover")
    jon = band.members["Jon Pell"]
    segment = lineup.event.segments.get(order=1)
    assert sheet(lineup.event, lineup).guesses[segment.pk, jon.pk].outcome is Outcome.STOOD_BY
    TravelList.objects.filter(pk=travel.pk).update(
        state=TravelState.POSTED, posted_at="2099-09-01T12:00Z"
    )
    book = confirm(cast, lineup)
    assert outcomes(book, jon) == ["was not there"] * 2
    assert outcomes(book, band.members["Ida Voss"]) == ["stood by, dressed"] * 2


def test_nothing_is_confirmed_twice_too_early_or_for_a_rehearsal(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    confirm(cast, lineup)
    turns = Turn.objects.count()
    with pytest.raises(Refused, match="confirmed already by Staff"):
        confirm(cast, lineup)
    assert Turn.objects.count() == turns
    with pytest.raises(Refused, match="is no past performance"):
        confirm(cast, played(band, cast, 12, "rehearsal"))
    with pytest.raises(Refused, match="is no past performance"):
        confirm(cast, write_lineup(band.event, cast.staff, 1))


def test_two_people_did_not_march_one_spot(band: Band, cast: Cast) -> None:
    lineup = played(band, cast, 5)
    told = {(1, band.members["Ida Voss"]): Choice(Outcome.MARCHED, band.spots["1-3"].pk)}
    with pytest.raises(Refused) as refusal:
        confirm(cast, lineup, told)
    assert refusal.value.details == ("Run 1 1-3: Cai Ørnberg and Ida Voss",)
    assert not TurnBook.objects.exists() and not Turn.objects.exists()


def test_a_correction_keeps_what_was_first_confirmed(band: Band, cast: Cast) -> None:
    book = confirm(cast, played(band, cast, 5))
    ida, cai = band.members["Ida Voss"], band.members["Cai Ørnberg"]
    of_ida, of_cai = (Turn.objects.filter(book=book, member=m).earliest("pk") for m in (ida, cai))
    third = band.spots["1-3"]

    def correct(turn: Turn, outcome: TurnOutcome, note: str = "seen on film") -> Turn:
        spot = third if outcome == TurnOutcome.MARCHED else None
        return correct_turn(actor=cast.director, turn=turn, outcome=outcome, spot=spot, note=note)

    with pytest.raises(Refused, match="Cai Ørnberg is in the book for 1-3 in Run 1"):
        correct(of_ida, TurnOutcome.MARCHED)
    with pytest.raises(Refused, match="Say why"):
        correct(of_cai, TurnOutcome.STOOD_BY, " ")
    correct(of_cai, TurnOutcome.STOOD_BY)
    made = correct(of_ida, TurnOutcome.MARCHED)
    with pytest.raises(Refused, match="what the book says already"):
        correct(of_ida, TurnOutcome.MARCHED)
    assert (made.now, made.first) == ("marched 1-3", "stood by, dressed")
    assert (made.note, made.corrected_by) == ("seen on film", cast.director)
    of_cai.refresh_from_db()
    assert (of_cai.now, of_cai.first) == ("stood by, dressed", "marched 1-3")
    share = record_queries.turn_counts(band.season, AFTER)[ida.pk]
    assert (share.marched, share.available) == (1, 2), "the solver reads the corrected book"
