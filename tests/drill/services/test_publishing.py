"""Publishing freezes what was looked at, or says what changed meanwhile."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from bandops.lib.errors import Overtaken, Refused
from bandops.lib.outbox.models import Artifact, Job
from drill import queries
from drill.enums import AbsenceKind
from drill.models import Lineup, Notice
from drill.services.absences import Report, report_absence
from drill.services.lineups import (
    open_draft,
    place_by_hand,
    start_by_hand,
    take_proposal,
)
from drill.services.notices import tell_in_person
from drill.services.orders import pin_member
from drill.services.proposals import placements_of
from drill.services.publishing import publish_lineup
from drill.services.releasing import release_member
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("numbers are given out under a lock, JSON is frozen"),
]


def publish(band: Band, cast: Cast, number: int | None = None) -> Lineup:
    draft = open_draft(actor=cast.staff, event=band.event)
    return publish_lineup(
        actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=number
    )


def say_out(band: Band, cast: Cast, name: str) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def at(lineup: Lineup, segment: str, spot: str) -> str:
    rank, number = spot.split("-")
    row = lineup.rows.get(segment__name=segment, spot__rank__label=rank, spot__number=int(number))
    return row.member.name if row.member else row.origin


def test_the_first_publication_numbers_and_tells_everybody(band: Band, cast: Cast) -> None:
    lineup = publish(band, cast)
    assert (lineup.number, lineup.state) == (1, "published")
    assert lineup.certificate is not None and len(lineup.problem_hash) == 64
    assert Notice.objects.filter(lineup=lineup).count() == 8
    assert at(lineup, "Halftime", "2-3") == "Hal Brook"


def test_prints_are_made_once_by_their_jobs(
    band: Band, cast: Cast, django_capture_on_commit_callbacks: object
) -> None:
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
        publish(band, cast)
    assert not Job.objects.filter(done_at=None).exists()
    assert sorted(Artifact.objects.values_list("filename", flat=True)) == [
        "assignments-letter-r1.pdf",
        "lineup-letter-r1.pdf",
    ]


def test_a_later_absence_moves_as_few_as_possible_and_tells_only_them(
    band: Band, cast: Cast
) -> None:
    first = publish(band, cast)
    say_out(band, cast, "Cai Ørnberg")
    take_proposal(actor=cast.staff, event=band.event, seen_version=1)
    second = publish(band, cast, 1)
    assert at(second, "Halftime", "1-3") == "Ida Voss"
    changed = {c[1] for c in second.change_notice["changes"]}
    names = {m.name for m in band.members.values() if f"{m.pk:07d}" in changed}
    assert names == {"Cai Ørnberg", "Ida Voss"}
    told = {n.member.name for n in second.notices.all()}
    assert told == names | {"Ana Núñez"}, "the two and their rank's leader"
    assert at(first, "Halftime", "1-3") == "Cai Ørnberg", "a published lineup never changes"


@pytest.mark.parametrize("how", ["update", "delete", "insert"])
def test_the_database_keeps_a_published_lineup_as_it_is(band: Band, cast: Cast, how: str) -> None:
    lineup = publish(band, cast)
    row = lineup.rows.get(segment=band.halftime, spot=band.spots["1-3"])
    with pytest.raises(IntegrityError, match="never changes"), transaction.atomic():
        if how == "update":
            lineup.rows.filter(pk=row.pk).update(member=band.members["Jon Pell"])
        elif how == "delete":
            lineup.rows.all().delete()
        else:
            row.pk, row.segment, row.member = None, band.stands, None
            row.origin = "hole"
            row.save()
    assert at(lineup, "Halftime", "1-3") == "Cai Ørnberg"


def test_publishing_is_refused_when_the_draft_moved_on(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    seen = draft.version
    place_by_hand(
        actor=cast.director,
        event=band.event,
        seen_version=seen,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Jon Pell"],
    )
    with pytest.raises(Overtaken):
        publish_lineup(actor=cast.staff, event=band.event, seen_version=seen, seen_number=None)
    assert queries.published(band.event) is None


def test_publishing_is_refused_when_somebody_published_meanwhile(band: Band, cast: Cast) -> None:
    publish(band, cast)
    draft = open_draft(actor=cast.staff, event=band.event)
    with pytest.raises(Overtaken, match="Revision 1"):
        publish_lineup(
            actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=None
        )


def test_a_draft_with_somebody_who_is_out_is_not_published(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    say_out(band, cast, "Hal Brook")
    with pytest.raises(Refused) as refusal:
        publish_lineup(
            actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=None
        )
    assert any("2-3" in detail for detail in refusal.value.details)


def test_the_second_of_two_editors_is_told_what_the_first_changed(band: Band, cast: Cast) -> None:
    seen = open_draft(actor=cast.staff, event=band.event).version
    both = [
        (cast.director, "1-2", "Jon Pell"),
        (cast.staff, "1-3", "Ida Voss"),
    ]

    def edit(actor: object, spot: str, name: str) -> None:
        place_by_hand(
            actor=actor,  # type: ignore[arg-type]
            event=band.event,
            seen_version=seen,
            segment=band.halftime,
            spot=band.spots[spot],
            member=band.members[name],
        )

    edit(*both[0])
    with pytest.raises(Overtaken) as overtaken:
        edit(*both[1])
    assert overtaken.value.details == ("Halftime 1-2: now Jon Pell",)
    draft = queries.draft(band.event)
    assert draft is not None
    assert at(draft, "Halftime", "1-2") == "Jon Pell", "the first edit is kept"
    assert at(draft, "Halftime", "1-3") == "Cai Ørnberg"


def test_a_hand_edit_that_breaks_a_rule_is_refused(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    with pytest.raises(Refused) as refusal:
        place_by_hand(
            actor=cast.staff,
            event=band.event,
            seen_version=draft.version,
            segment=band.halftime,
            spot=band.spots["2-3"],
            member=band.members["Jon Pell"],
        )
    assert "not qualified" in refusal.value.details[0]
    draft.refresh_from_db()
    assert at(draft, "Halftime", "2-3") == "Hal Brook"


def test_a_hand_edit_empties_seats_whose_members_can_no_longer_march(
    band: Band, cast: Cast
) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    say_out(band, cast, "Gus Tamm")
    edited = place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-2"],
        member=band.members["Jon Pell"],
    )
    assert len(edited.emptied) == 2
    assert at(edited.lineup, "Pregame", "2-2") == "hole"


def test_releasing_a_member_empties_events_to_come_and_tells(band: Band, cast: Cast) -> None:
    publish(band, cast)
    made = release_member(actor=cast.staff, member=band.members["Hal Brook"], on=band.season.starts)
    assert [(x.event_id, x.number) for x in made] == [(band.event.pk, 2)]
    assert at(made[0], "Halftime", "2-3") == "hole"
    assert queries.draft(band.event) is None
    assert {n.member.name for n in made[0].notices.all()} == {"Fay Ashgrove"}
    assert band.members["Hal Brook"].holdings.filter(ends=None).count() == 0


def test_a_saved_lineup_comes_back_as_it_was_solved(band: Band, cast: Cast) -> None:
    draft = open_draft(actor=cast.staff, event=band.event)
    assert len(placements_of(draft)) == 16
    again = take_proposal(actor=cast.staff, event=band.event, seen_version=draft.version)
    assert sorted(placements_of(again), key=str) == sorted(placements_of(draft), key=str)


def test_a_lineup_can_be_made_without_the_solver(
    band: Band, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise AssertionError("the solver must not be asked")

    monkeypatch.setattr("drill.services.proposals.solve", broken)
    say_out(band, cast, "Cai Ørnberg")
    pin_member(
        actor=cast.staff,
        event=band.event,
        segment=band.halftime,
        spot=band.spots["1-2"],
        member=band.members["Jon Pell"],
    )
    draft = start_by_hand(actor=cast.staff, event=band.event)
    assert at(draft, "Halftime", "1-3") == "hole"
    assert at(draft, "Halftime", "1-2") == "Jon Pell"
    assert at(draft, "Pregame", "1-2") == "Bo Larkspur"
    edited = place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Ida Voss"],
    )
    made = publish_lineup(
        actor=cast.staff,
        event=band.event,
        seen_version=edited.lineup.version,
        seen_number=None,
    )
    assert (made.stage, made.certificate) == ("by hand", None)
    assert at(made, "Halftime", "1-3") == "Ida Voss"


def test_who_was_not_reached_stays_on_the_list_until_somebody_tells_them(
    band: Band, cast: Cast
) -> None:
    first = publish(band, cast)
    missed = first.notices.get(member=band.members["Hal Brook"])
    missed.state = "not reached"
    missed.save()
    first.notices.exclude(pk=missed.pk).update(state="sent")
    second = publish(band, cast, 1)
    assert [n.pk for n in queries.unreached(second)] == [missed.pk]
    tell_in_person(actor=cast.staff, notice=missed)
    assert queries.unreached(second) == []


def test_a_release_claims_no_proof(band: Band, cast: Cast) -> None:
    assert publish(band, cast).certificate is not None
    made = release_member(
        actor=cast.staff, member=band.members["Cai Ørnberg"], on=band.season.starts
    )[0]
    assert (made.stage, made.certificate) == ("by hand", None)
    assert ["HOLES", 2, None, False] in made.levels


def test_an_event_without_marching_segments_is_not_published(band: Band, cast: Cast) -> None:
    band.event.segments.exclude(pk=band.stands.pk).delete()
    with pytest.raises(Refused, match="nothing to publish"):
        publish(band, cast)
