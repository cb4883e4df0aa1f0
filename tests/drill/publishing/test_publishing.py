"""Publishing freezes what was looked at, or says what changed meanwhile; who is told."""

from __future__ import annotations

import datetime

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoCaptureOnCommitCallbacks

from bandops.lib.errors import Overtaken, Refused
from bandops.lib.outbox.models import Artifact, Job
from drill.leaving.services.releasing import release_member
from drill.lineup import queries as lineup_queries
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand, take_proposal
from drill.publishing import queries as publishing_queries
from drill.publishing.models import Notice
from drill.publishing.services.notices import confirm_notice, tell_in_person, tell_to_stand_by
from drill.publishing.services.publishing import publish_lineup
from tests.architecture.world import client_of
from tests.drill.publishing.publishing_help import at, publish, say_out
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("numbers are given out under a lock, JSON is frozen"),
]


def test_the_first_publication_numbers_and_tells_everybody(band: Band, cast: Cast) -> None:
    lineup = publish(band, cast)
    assert (lineup.number, lineup.state) == (1, "published")
    assert lineup.certificate is not None and len(lineup.problem_hash) == 64
    assert Notice.objects.filter(lineup=lineup).count() == 8
    assert at(lineup, "Halftime", "2-3") == "Hal Brook"


def test_prints_are_made_once_by_their_jobs(
    band: Band, cast: Cast, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
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
    assert second.change_notice is not None
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
    assert lineup_queries.published(band.event) is None


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


def test_who_was_not_reached_stays_on_the_list_until_somebody_tells_them(
    band: Band, cast: Cast
) -> None:
    first = publish(band, cast)
    missed = first.notices.get(member=band.members["Hal Brook"])
    missed.state = "not reached"
    missed.save()
    first.notices.exclude(pk=missed.pk).update(state="sent")
    second = publish(band, cast, 1)
    assert [n.pk for n in publishing_queries.unreached(second)] == [missed.pk]
    tell_in_person(actor=cast.staff, notice=missed)
    assert publishing_queries.unreached(second) == []


def test_a_release_claims_no_proof(band: Band, cast: Cast) -> None:
    assert publish(band, cast).certificate is not None
    release_member(actor=cast.staff, member=band.members["Hal Brook"], on=band.season.starts)
    made = lineup_queries.published(band.event)
    assert made is not None
    assert (made.stage, made.certificate) == ("by hand", None)
    assert ["HOLES", 2, None, False] in made.levels


def test_an_event_without_marching_segments_is_not_published(band: Band, cast: Cast) -> None:
    band.event.segments.exclude(pk=band.stands.pk).delete()
    with pytest.raises(Refused, match="nothing to publish"):
        publish(band, cast)


def test_of_two_who_told_a_member_the_first_stays_named(band: Band, cast: Cast) -> None:
    notice = publish(band, cast).notices.get(member=band.members["Hal Brook"])
    now = timezone.now()
    earlier = now - datetime.timedelta(minutes=20)
    tell_in_person(actor=cast.staff, notice=notice, at=now)
    tell_in_person(actor=cast.director, notice=notice)
    notice.refresh_from_db()
    assert (notice.told_by, notice.told_at) == (cast.staff, now)
    tell_in_person(actor=cast.leader, notice=notice, at=earlier)
    notice.refresh_from_db()
    assert (notice.told_by, notice.told_at) == (cast.leader, earlier)


def test_news_that_changed_since_is_neither_told_nor_read(band: Band, cast: Cast) -> None:
    lineup = publish(band, cast)
    notice = lineup.notices.get(member=band.members["Hal Brook"])
    seen = notice.news_key
    halftime, spot = str(band.halftime.pk), str(band.spots["2-2"].pk)
    tell_to_stand_by(lineup, notice.member, [(halftime, spot, None)])
    with pytest.raises(Refused, match="more to tell Hal Brook"):
        tell_in_person(actor=cast.staff, notice=notice, news=seen)
    with pytest.raises(Refused, match="more news for you"):
        confirm_notice(actor=cast.other, notice=notice, news=seen)
    notice.refresh_from_db()
    assert notice.state == "waiting"
    tell_in_person(actor=cast.staff, notice=notice, news=notice.news_key)


def test_who_was_not_reached_is_found_without_reading_the_lineups(band: Band, cast: Cast) -> None:
    lineup = publish(band, cast)
    with CaptureQueriesContext(connection) as seen:
        publishing_queries.unreached(lineup)
    assert [sql["sql"].count("certificate") for sql in seen.captured_queries] == [0]


def test_whoever_moves_within_a_rank_is_said_once_of_it(band: Band, cast: Cast) -> None:
    publish(band, cast)
    draft = open_draft(actor=cast.staff, event=band.event)
    place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Bo Larkspur"],
    )
    page = client_of(cast, "staff").get(reverse("publish", args=[band.event.pk]))
    (rank, lines), *others = page.context["by_rank"]
    assert not others and rank == "Rank 1"
    assert sorted(lines) == [
        "Halftime: Bo Larkspur moves from 1-2 to 1-3",
        "Halftime: Cai Ørnberg steps out of 1-3",
    ]
