"""Several members are told in person at once; it can be taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoCaptureOnCommitCallbacks

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.lineup.models import Lineup
from drill.publishing.enums import NoticeState
from drill.publishing.queries import by_rank, unreached
from tests.answers import text
from tests.drill.publishing.publishing_help import publish
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("notices are locked")]
SignedIn = Callable[[User | None], Client]


@pytest.fixture
def missed(
    band: Band,
    cast: Cast,
    settings: Any,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> Lineup:
    """Published without mail: no notice has reached anybody."""
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    with django_capture_on_commit_callbacks(execute=True):
        return publish(band, cast)


@pytest.fixture
def staff(cast: Cast, signed_in: SignedIn) -> Client:
    return signed_in(cast.staff)


def tell(client: Client, lineup: Lineup, **data: object) -> str:
    return text(client.post(reverse("notices-told", args=[lineup.pk]), data, follow=True))


def names(lineup: Lineup, state: NoticeState) -> set[str]:
    return {n.member.name for n in lineup.notices.filter(state=state)}


def test_those_checked_are_told_in_one_action(missed: Lineup, staff: Client, cast: Cast) -> None:
    two = unreached(missed)[:2]
    assert "2 people told in person." in tell(staff, missed, notice=[n.pk for n in two])
    assert names(missed, NoticeState.TOLD) == {n.member.name for n in two}
    lines = AuditEntry.objects.filter(action="tell in person", table="publishing_notice")
    assert len(lines) == 2 and len({line.batch for line in lines}) == 1
    assert {n.told_by for n in missed.notices.filter(state=NoticeState.TOLD)} == {cast.staff}


def test_a_whole_rank_is_told_at_once(missed: Lineup, staff: Client, band: Band) -> None:
    groups = by_rank(unreached(missed), band.season)
    rank, group = groups[0]
    assert rank is not None
    assert f"All of {rank} told in person" in text(staff.get(reverse("revision", args=[missed.pk])))
    tell(staff, missed, rank=rank.pk)
    assert names(missed, NoticeState.TOLD) == {n.member.name for n in group}
    assert len(unreached(missed)) == sum(len(g) for _, g in groups[1:])


def test_what_was_told_is_taken_back(missed: Lineup, staff: Client) -> None:
    all_of_them = unreached(missed)
    tell(staff, missed, notice=[n.pk for n in all_of_them])
    back = all_of_them[0]
    assert "Taken back for 1 person" in tell(staff, missed, notice=back.pk, undo="yes")
    back.refresh_from_db()
    assert (back.state, back.told_by, back.told_at) == (NoticeState.NOT_REACHED, None, None)
    assert [n.pk for n in unreached(missed)] == [back.pk]


def test_what_reached_somebody_otherwise_is_not_taken_back(missed: Lineup, staff: Client) -> None:
    first = unreached(missed)[0]
    first.state = NoticeState.CONFIRMED
    first.save()
    assert "Taken back for 0 people" in tell(staff, missed, notice=first.pk, undo="yes")
    assert "Check off who you told" in tell(staff, missed, notice=first.pk)
    first.refresh_from_db()
    assert first.state == NoticeState.CONFIRMED


def test_nobody_checked_is_told_so(missed: Lineup, staff: Client) -> None:
    assert "Check off who you told" in tell(staff, missed)
