"""The panel of a spot: where each candidate comes from, and what tells the best apart."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from drill.lineup.services.candidate_lines import BEST, MOST_FLAT, CandidateLine, Lines
from roster.ranks.models import Holding
from tests.architecture.world import client_of
from tests.drill.publishing.revision_prints import publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


def panel(band: Band, cast: Cast, spot: str) -> Any:
    where = [band.event.pk, band.halftime.pk, band.spots[spot].pk]
    return client_of(cast, "staff").get(reverse("seat", args=where))


def lines(band: Band, cast: Cast, spot: str) -> Lines:
    found = panel(band, cast, spot).context["who"]
    assert isinstance(found, Lines)
    return found


def by_name(found: Lines) -> dict[str, CandidateLine]:
    return {line.member.name: line for line in (*found.best, *found.others)}


def test_each_comes_from_somewhere(band: Band, cast: Cast) -> None:
    publish(band, cast)
    found = by_name(lines(band, cast, "1-3"))
    assert found["Cai Ørnberg"].where_from == "marches it now"
    others = {line.where_from for name, line in found.items() if name != "Cai Ørnberg"}
    assert others and "" not in others
    holders = Holding.objects.filter(ends=None).select_related("member__person", "spot__rank")
    standing = {holding.member.name: str(holding.spot) for holding in holders}
    for name, line in found.items():
        if name in standing and name != "Cai Ørnberg":
            assert line.where_from.endswith(f"now at {standing[name]}")


def test_one_button_is_filled_and_it_is_not_of_who_is_there(band: Band, cast: Cast) -> None:
    publish(band, cast)
    page = panel(band, cast, "1-3")
    suggested = [line for line in page.context["who"].best if line.suggested]
    assert len(suggested) == 1 and not suggested[0].here
    assert page.content.decode().count('<button class="main"') == 1


def test_of_many_the_best_three_stand_first_without_what_they_share(band: Band, cast: Cast) -> None:
    for n in range(MOST_FLAT + 2):
        band.alternate("1", "trumpet", band.member(f"Ned Ward{n:02}", "trumpet"), n + 20)
    publish(band, cast)
    found = lines(band, cast, "1-3")
    assert len(found.best) == BEST and len(found.others) >= MOST_FLAT + 2 - BEST
    elsewhere = [set(line.facts) for line in found.best if not line.here]
    assert not set.intersection(*elsewhere)
    assert all(line.facts for line in found.others), "the others say all"
