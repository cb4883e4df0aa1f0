"""The page of letters, and what a member reads of their own."""

from __future__ import annotations

import pytest
from django.urls import reverse

from drill.record.enums import RecordOutcome
from drill.record.models import LetterRule, MarchingRecord, RecordEntry
from drill.record.services.letters import letters
from roster.people.enums import MemberStatus
from roster.people.models import Member
from tests.architecture.world import client_of, publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


def confirmed(band: Band, cast: Cast, **done: RecordOutcome) -> None:
    lineup = publish(band, cast.staff)
    record = MarchingRecord.objects.create(event=band.event, lineup=lineup)
    spot = band.spots["1-3"]
    for name, outcome in done.items():
        member = next(m for n, m in band.members.items() if n.startswith(name))
        for segment in (band.pregame, band.halftime):
            RecordEntry.objects.create(
                record=record,
                segment=segment,
                member=member,
                spot=spot if outcome == RecordOutcome.MARCHED else None,
                outcome=outcome,
                first_spot=spot if outcome == RecordOutcome.MARCHED else None,
                first_outcome=outcome,
            )


def test_credits_come_from_what_was_confirmed(band: Band, cast: Cast) -> None:
    confirmed(band, cast, Cai=RecordOutcome.STOOD_BY, Ida=RecordOutcome.AWAY)
    found = letters(band.season)
    points = {member.name: credit.points for member, credit in found.credits}
    assert points["Cai Ørnberg"] == 1 and points["Ida Voss"] == 0
    assert found.confirmed == 1


def test_staff_choose_what_a_letter_takes_and_see_who_may_just_miss_it(
    band: Band, cast: Cast
) -> None:
    confirmed(band, cast, Cai=RecordOutcome.STOOD_BY)
    staff = client_of(cast, "staff")
    data = {"marched": "2", "stood_by": "1", "needed": "2"}
    left = letters(band.season).left
    page = staff.post(reverse("letters"), data, follow=True).content.decode()
    assert "2 points make a letter" in page
    assert LetterRule.objects.get().needed == 2
    words = "has to march all" if left == 1 else "lacks 1 performance" if not left else ""
    if words:
        assert "May just miss it" in page and words in page
    assert staff.post(reverse("letters"), data | {"marched": "0"}).status_code == 200
    assert LetterRule.objects.get().marched == 2, "a letter nobody can reach is refused"


def test_members_see_their_own_once_there_is_a_rule(band: Band, cast: Cast) -> None:
    confirmed(band, cast, Cai=RecordOutcome.MARCHED)
    member = client_of(cast, "member")
    assert "Letter:" not in member.get(reverse("my-record")).content.decode()
    LetterRule.objects.create(season=band.season, needed=2)
    assert "Letter:</strong> has it" in member.get(reverse("my-record")).content.decode()
    assert client_of(cast, "leader").get(reverse("letters")).status_code == 403
    Member.objects.filter(pk=band.members["Cai Ørnberg"].pk).update(status=MemberStatus.ON_LEAVE)
    page = member.get(reverse("my-record")).content.decode()
    assert "Letter:</strong> has it" in page, "what they did before their leave counts"
