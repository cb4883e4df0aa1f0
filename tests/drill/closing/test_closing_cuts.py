"""A show cut for one event, with its faults."""

from __future__ import annotations

import pytest
from django.urls import reverse

from drill.closing.services import closed
from drill.events import queries as event_queries
from drill.lineup import queries as lineup_queries
from drill.lineup.wording import Names
from drill.publishing.models import Notice
from drill.publishing.wording import notice_sentences
from drill.shows.models import Position, Show, ShowVersion
from roster.people.models import Part
from tests.drill.closing.closing_up import (
    STEP,
    SignedIn,
    away,
    close,
    emptied,
    publish,
    show,
    words,
)
from tests.factories import Band, Cast

__all__ = ["show"]

pytestmark = pytest.mark.django_db


def test_a_cut_is_pictured_with_its_faults_and_everybody_is_told(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    publish(band, cast)
    staff, url = signed_in(cast.staff), reverse("cut-show", args=[band.event.pk, show.pk])
    cut = {"first": "2", "last": "3", "counts": 4}
    page = staff.post(url, cut | {"what": "preview"})
    assert page.context["jump"] == ("1", "4", 4)
    assert page.context["flagged"] == 8, "12 steps in 4 counts is impossible for all eight"
    assert "step too large" in page.text
    assert not ShowVersion.objects.filter(at_event__event=band.event).exists()
    assert staff.post(url, cut | {"counts": 16, "what": "preview"}).context["flagged"] == 0
    staff.post(url, cut | {"counts": 16})
    made = event_queries.current_versions({show.pk}, band.event)[show.pk]
    assert list(made.sets.values_list("label", "counts")) == [("1", 8), ("4", 16)]
    second = publish(band, cast, 1)
    told = Notice.objects.get(lineup=second, member=band.members["Hal Brook"]).content
    assert [m[2:] for m in told["sets"]] == [["4", ["1", 16]]] * 2, "both segments"
    news = staff.get(reverse("revision", args=[second.pk]))
    assert "comes straight from set 1, in 16 counts" in news.text


def test_a_cut_tells_drum_majors_and_whoever_has_no_coordinate_once(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    """The drum major has no spot, Hal's has no coordinate, and Jon is an alternate."""
    Part.objects.create(
        season=band.season,
        instrument=band.parts["trumpet"].instrument,
        name="Drum major",
        code="drum-major",
    )
    band.parts["drum-major"] = Part.objects.get(code="drum-major")
    band.member("Una Reed", "drum-major")
    band.member("Vic Stone", "drum-major", status="on leave")
    Position.objects.filter(dot__label="2-3").delete()
    publish(band, cast)
    url = reverse("cut-show", args=[band.event.pk, show.pk])
    signed_in(cast.staff).post(url, {"first": "2", "last": "3", "counts": 16})
    second = publish(band, cast, 1)
    notices = {n.member.name: n for n in second.notices.all()}
    assert set(notices) == set(band.members) - {"Vic Stone"}
    assert [m[2:] for m in notices["Hal Brook"].content["sets"]] == [["4", ["1", 16]]] * 2
    names = Names(band.season.pk)
    for name in ("Una Reed", "Jon Pell"):
        assert notice_sentences(notices[name].content, names) == [
            f"{segment}, set 4: it comes straight from set 1, in 16 counts"
            for segment in ("Pregame", "Halftime")
        ]


def test_nonsense_is_refused_in_words(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    staff, url = signed_in(cast.staff), reverse("cut-show", args=[band.event.pk, show.pk])
    turned = staff.post(url, {"first": "3", "last": "2", "counts": 8})
    assert "The first and last sets stay" in turned.text
    assert "Select a valid choice" in staff.post(url, {"first": "1", "last": "2", "counts": 8}).text
    unknown = close(staff, band, line="1-1, 1-4, 9-9")
    assert "has no dot 9-9" in unknown.text
    short = close(staff, band, line="1-4, 1-5")
    assert "at least two others" in short.text
    assert not ShowVersion.objects.filter(at_event__event=band.event).exists()


@pytest.mark.parametrize("change", ["close", "cut"])
def test_a_change_after_publishing_opens_a_draft_to_publish(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn, change: str
) -> None:
    away(band, cast, "Dee Quill")
    publish(band, cast)
    assert lineup_queries.draft(band.event) is None
    staff = signed_in(cast.staff)
    if change == "close":
        close(staff, band)
    else:
        url = reverse("cut-show", args=[band.event.pk, show.pk])
        staff.post(url, {"first": "2", "last": "3", "counts": "24"})
    draft = lineup_queries.draft(band.event)
    assert draft is not None
    page = staff.get(reverse("publish", args=[band.event.pk]))
    assert page.status_code == 200
    second = publish(band, cast, 1)
    assert (
        second.show_versions[str(show.pk)] == ShowVersion.objects.get(at_event__event=band.event).pk
    )
    assert second.change_notice is not None and second.change_notice["sets"]
    if change == "close":
        assert ("closed-up", "closed up") in words(second, "1-4")


def test_a_jump_that_a_cut_makes_worse_is_news(band: Band, show: Show, cast: Cast) -> None:
    """What was warned of before does not hide what is far worse now."""
    Position.objects.filter(set__label="4", dot__label="1-1").update(x=30 * STEP)
    changed = closed.cut_down(band.event, show, "2", "3", 4)
    assert any("1-1" in {changed.after.dots[p] for p in f.dots} for f in changed.new)
