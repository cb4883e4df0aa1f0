"""What members and rank leaders see: where to stand, who is here, and no reason why not."""

from __future__ import annotations

import pytest
from django.urls import reverse

from drill.lineup.models import LineupRow
from tests.architecture.world import client_of
from tests.drill.publishing.revision_prints import out, publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


def test_a_card_waits_for_the_publication_and_then_names_the_spot(band: Band, cast: Cast) -> None:
    member = client_of(cast, "member")
    page = member.get(reverse("card"))
    assert "The lineup is not published yet." in page.content.decode()
    lineup = publish(band, cast)
    row = LineupRow.objects.get(
        lineup=lineup, member=band.members["Cai Ørnberg"], segment=band.halftime
    )
    segments = member.get(reverse("card")).context["card"].segments
    assert {s.segment: s.row.spot for s in segments if s.row}[band.halftime] == row.spot


def test_a_card_is_kept_for_the_field_under_its_own_account(band: Band, cast: Cast) -> None:
    response = client_of(cast, "member").get(reverse("card"))
    assert response.headers["X-Offline-Copy"] == str(cast.member.pk)


def test_a_leader_sees_who_is_out_and_never_why(band: Band, cast: Cast) -> None:
    out(band, cast, "Cai Ørnberg", category="health")
    publish(band, cast)
    page = client_of(cast, "leader").get(reverse("my-rank"))
    states = {p["member"].name: p["state"] for p in page.context["people"]}
    assert states["Cai Ørnberg"] == "unavailable"
    assert "health" not in page.content.decode()


def test_nobody_reads_a_rank_they_do_not_lead(band: Band, cast: Cast) -> None:
    for role in ("member", "equipment", "evaluator", "outsider"):
        assert client_of(cast, role).get(reverse("my-rank")).status_code == 403
