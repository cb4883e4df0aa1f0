"""Rounds of challenges keep to the years that the calendar reaches."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.dates import OUT_OF_REACH
from drill.challenges.models import ChallengeRound
from tests.drill.events.event_pages import FAR, errors, staff
from tests.factories import Band

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals, ties and unique constraints")]


@pytest.mark.parametrize(("moment", "_zone"), FAR)
def test_a_challenge_round_far_away_is_refused_at_its_fields(
    staff: Client, band: Band, moment: str, _zone: str
) -> None:
    names = ("opens_at", "closes_at", "held_at")
    told = {"name": "Week 9", "effective": band.event.pk, **dict.fromkeys(names, moment)}
    found = errors(staff.post(reverse("round-new"), told))
    assert found == {name: [OUT_OF_REACH] for name in names}
    assert not ChallengeRound.objects.exists()
