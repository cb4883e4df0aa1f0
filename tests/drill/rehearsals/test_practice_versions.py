"""The practice log when the show gets a new version."""

from __future__ import annotations

import uuid

import pytest

from drill.events.models import Event
from drill.learning.services.learning import learners
from drill.rehearsals.services.practice import log_practice
from drill.rehearsals.services.practised import practised as practised_in
from drill.shows.models import Dot, Position, ShowVersion
from tests.drill.rehearsals.practice_log import log, practised, rehearsal
from tests.drill.rehearsals.rehearsing import add_sets, clock, make_rehearsal, tidewheel
from tests.factories import Band, Cast

__all__ = ["rehearsal"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("sums and counts over groups")]


def stand(version: ShowVersion, dot: str, *across: int) -> None:
    """Where a dot stands in each of the version's sets, in eighths of a step."""
    it, _ = Dot.objects.get_or_create(show=version.show, label=dot)
    for one, x in zip(version.sets.order_by("order"), across, strict=True):
        Position.objects.create(set=one, dot=it, x=90 * x, y=0)


def test_sets_are_found_again_in_a_new_version(band: Band, cast: Cast) -> None:
    """Two sets come in before those that were practised, all later ones get other numbers, one
    of them is moved by more than a quarter step and one by less."""
    show, event = tidewheel(band), make_rehearsal(band)
    old = add_sets(show, "1", "2", "3", "4")
    stand(old, "1-3", 0, 100, 200, 300)
    with clock(19):
        log(event, band, cast, "Jon Pell", "1-3", first_set=2)
    new = add_sets(show, "1", "2", "3", "4", "5", "6")
    stand(new, "1-3", 0, 30, 60, 101, 203, 300)
    key = band.members["Jon Pell"].pk, band.spots["1-3"].pk, show.pk
    dots = {show.pk: {band.spots["1-3"].pk: "1-3"}}
    assert practised_in(band.season, {show.pk: new}, dots)[key] == {3, 5}
    assert practised_in(band.season, {show.pk: old}, dots)[key] == {1, 2, 3}
    assert practised(band, "Jon Pell", "1-3") == 2
    new.sets.all().delete()
    assert practised(band, "Jon Pell", "1-3") is None


def test_what_was_chosen_from_a_version_stays_that(band: Band, cast: Cast) -> None:
    """The page was open while another version came in use."""
    show, event = tidewheel(band), make_rehearsal(band)
    first, second = add_sets(show, "1", "2").sets.order_by("order")
    add_sets(show, "9", "1", "2")
    with clock(19):
        entry = log_practice(
            actor=cast.leader,
            event=event,
            member=band.members["Jon Pell"],
            spot=band.spots["1-3"],
            show=show,
            first_set=first.pk,
            last_set=second.pk,
            key=uuid.uuid4(),
            noted_at=None,
        )
    assert list(entry.sets.order_by("order")) == [first, second]
    assert practised(band, "Jon Pell", "1-3") == 2


def test_a_renumbered_set_stays_practised(rehearsal: Event, band: Band, cast: Cast) -> None:
    log(rehearsal, band, cast, "Jon Pell", "1-3", last_set=1)
    one = tidewheel(band).versions.get().sets.get(order=1)
    one.label, one.order = "77", 90
    one.save()
    assert practised(band, "Jon Pell", "1-3") == 1
    [person] = [
        p
        for p in learners(rehearsal, band.ranks["1"], with_draft=True)
        if p.member == band.members["Jon Pell"]
    ]
    assert person.entries[0].sets == ("77",)
