"""Who is told of a changed drill, and what their cards picture."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops.lib.keys import key
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.lineup.models import OpenSeat
from drill.lineup.services.drafts import is_stale, open_draft
from drill.lineup.services.problem_builder import build
from drill.publishing.models import Notice
from drill.publishing.services.cards import card
from drill.publishing.services.change_notices import change_notice
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from drill.shows.services.shows import map_dots
from drill.shows.services.versions import start_version, use_version
from tests.drill.closing.closing_up import STEP, SignedIn, away, close, publish, show, words, xs
from tests.factories import Band, Cast

__all__ = ["show"]

pytestmark = pytest.mark.django_db


def test_whom_it_moves_is_told_and_a_restored_line_too(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    publish(band, cast)
    away(band, cast, "Dee Quill")
    staff = signed_in(cast.staff)
    staff.post(reverse("by-hand", args=[band.event.pk]))
    close(staff, band)
    second = publish(band, cast, 1)
    told = {n.member.name: n.content for n in Notice.objects.filter(lineup=second)}
    # 1920 and 3840 instead of 1440 and 2880 units: 0.67 and 1.33 steps.
    assert {label for _, _, label, _ in told["Bo Larkspur"]["sets"]} == {"1", "2", "3", "4"}
    assert told["Cai Ørnberg"]["sets"][0][3] == 960
    assert "Eno Farrow" not in told, "the end of the line stands where it stood"
    assert words(second, "1-4") == {("closed-up", "closed up")}
    mine = card(band.members["Dee Quill"], band.event, second)
    assert {s.closed for s in mine.segments if s.segment.marches} == {band.spots["1-4"]}
    refused = staff.post(reverse("drill-undo", args=[band.event.pk, show.pk]), follow=True)
    assert "Revision 2 is published with it." in refused.text
    staff.post(reverse("drill-undo", args=[band.event.pk, show.pk]), {"what": "restore"})
    now = event_queries.current_versions({show.pk}, band.event)[show.pk]
    assert xs(now, "1") == xs(show.versions.get(label="first"), "1")
    assert not OpenSeat.objects.exists()
    draft = open_draft(actor=cast.staff, event=band.event)
    notice = change_notice(build(band.event), draft)
    assert {m.label for m in notice.sets} == {"1", "2", "3", "4"}


def test_a_card_pictures_one_set(band: Band, show: Show, cast: Cast) -> None:
    """Somebody without a coordinate in set 1 starts in set 2: so do the others around them."""
    Position.objects.filter(set__label="1", dot__label="1-1").delete()
    mine = card(band.members["Ana Núñez"], band.event, publish(band, cast))
    picture = next(s.picture for s in mine.segments if s.picture)
    assert picture.title.startswith("Tidewheel, set 2")
    assert {dot.y for dot in picture.everyone} == {18 * STEP}


class TestNotices:
    """What the next revision tells of a new version in use."""

    @pytest.fixture
    def new(self, band: Band, show: Show, cast: Cast) -> ShowVersion:
        publish(band, cast)
        first = show.versions.get(label="first")
        made = start_version(actor=cast.staff, show=show, label="second", copy_of=first)
        use_version(actor=cast.staff, version=made)
        return made

    def told(self, band: Band, cast: Cast) -> dict[str, set[str]]:
        """Who is told -> of which sets of their own."""
        draft = open_draft(actor=cast.staff, event=band.event)
        notice = change_notice(build(band.event), draft)
        names = {key(m.pk): name for name, m in band.members.items()}
        return {names[t.member]: {move.label for move in t.own_sets} for t in notice.told}

    def test_a_renumbered_drill_moves_nobody(
        self, band: Band, cast: Cast, new: ShowVersion
    ) -> None:
        for one in new.sets.order_by("-order"):
            one.label, one.order = str(one.order + 1), one.order + 1
            one.save()
        DrillSet.objects.create(version=new, order=1, label="1", counts=0)
        assert self.told(band, cast) == {}

    def test_other_counts_are_told_to_those_who_march_them(
        self, band: Band, cast: Cast, new: ShowVersion
    ) -> None:
        new.sets.filter(label="2").update(counts=4)
        told = self.told(band, cast)
        assert told["Ana Núñez"] == {"2"} and told["Fay Ashgrove"] == {"2"}

    def test_a_spot_sent_to_another_dot_is_told_and_kept_until_then(
        self, band: Band, show: Show, cast: Cast, new: ShowVersion
    ) -> None:
        second = publish(band, cast, 1)
        other = Dot.objects.create(show=show, label="X")
        for one in new.sets.all():
            Position.objects.create(set=one, dot=other, x=0, y=9 * STEP)
        dots = {band.spots["1-1"]: other}
        map_dots(actor=cast.staff, show=show, dots=dots)
        assert is_stale(second, build(band.event))
        assert self.told(band, cast)["Ana Núñez"] == {"1", "2", "3", "4"}
        before = card(band.members["Ana Núñez"], band.event, second)
        third = publish(band, cast, 2)
        after = card(band.members["Ana Núñez"], band.event, third)
        starts = [next(s.picture.me for s in c.segments if s.picture) for c in (before, after)]
        assert [(dot.x, dot.y) for dot in starts if dot] == [(0, 14 * STEP), (0, 9 * STEP)]

    def test_another_field_makes_the_lineup_old(
        self, band: Band, cast: Cast, new: ShowVersion
    ) -> None:
        second = publish(band, cast, 1)
        assert not is_stale(second, build(band.event))
        Event.objects.filter(pk=band.event.pk).update(field_type="53 ft 4 in")
        assert is_stale(second, build(Event.objects.get(pk=band.event.pk)))
