"""A line closed up and a show cut for one event, through pages, and taken back."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from functools import partial
from typing import TypedDict

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from drill import queries
from drill.enums import AbsenceKind
from drill.models import (
    Bar,
    DrillSet,
    Event,
    Lineup,
    Notice,
    OpenSeat,
    Path,
    Pin,
    Place,
    Position,
    Show,
    ShowVersion,
)
from drill.services import closing
from drill.services.absences import Report, report_absence
from drill.services.cards import card
from drill.services.events import map_places
from drill.services.lineups import is_stale, open_draft
from drill.services.orders import bar_member, leave_open, lift_order, pin_member
from drill.services.problem_builder import build, key
from drill.services.publishing import change_notice, publish_lineup
from drill.services.versions import start_version, use_version
from drill.sheets import sheets
from roster.models import Spot
from tests.answers import Response
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

STEP = 720
SignedIn = Callable[[User | None], Client]


class Told(TypedDict):
    """Who changes which show for which event."""

    actor: User
    event: Event
    show: Show


@pytest.fixture
def show(band: Band) -> Show:
    """Rank 1 in a line of five, two steps apart, that goes four steps back in each of four sets;
    rank 2 stands apart."""
    show = Show.objects.get(name="Tidewheel")
    version = ShowVersion.objects.create(show=show, label="first", order=1)
    places = {s: Place.objects.create(show=show, label=s) for s in band.spots}
    for at in range(1, 5):
        page = DrillSet.objects.create(version=version, order=at, label=str(at), counts=8)
        for n, (label, place) in enumerate(places.items()):
            x = 2 * STEP * n if label.startswith("1") else (n + 9) * 4 * STEP
            Position.objects.create(set=page, place=place, x=x, y=(10 + 4 * at) * STEP)
    return show


def away(band: Band, cast: Cast, name: str) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def publish(band: Band, cast: Cast, number: int | None = None) -> Lineup:
    draft = open_draft(actor=cast.staff, event=band.event)
    return publish_lineup(
        actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=number
    )


def emptied(band: Band, cast: Cast) -> None:
    """A draft in which nobody marches 1-4: no other clarinet is there to step in."""
    away(band, cast, "Dee Quill")
    open_draft(actor=cast.staff, event=band.event)


def close(client: Client, band: Band, spot: str = "1-4", **more: object) -> Response:
    url = reverse("close-up", args=[band.event.pk, band.halftime.pk, band.spots[spot].pk])
    form = {"line": "1-1, 1-2, 1-3, 1-4, 1-5", "sets": ["1", "2", "3", "4"]}
    return client.post(url, form | more)


def xs(version: ShowVersion, label: str) -> dict[str, int]:
    rows = Position.objects.filter(set__version=version, set__label=label)
    return dict(rows.values_list("place__label", "x"))


def words(lineup: Lineup, spot: str) -> set[tuple[str, str]]:
    lines = [line for rank in sheets(lineup).ranks for line in rank.lines]
    (line,) = [line for line in lines if line.spot.label == spot]
    return {(seat.mark, seat.word) for seat in line.seats}


def test_both_are_pictured_before_anything_is_saved(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    staff = signed_in(cast.staff)
    page = staff.get(
        reverse("close-up", args=[band.event.pk, band.halftime.pk, band.spots["1-4"].pk])
    )
    assert page.context["form"].initial["sets"] == ("1", "2", "3", "4")
    assert [dot.label for dot in page.context["open"].holes] == ["1-4"]
    assert {dot.label for dot in page.context["closed"].stand_ins} == {"1-2", "1-3"}
    assert [dot.label for dot in page.context["closed"].closed] == ["1-4"]
    assert page.text.count(">(1-4)</text>") == 1, "on the picture with the line closed up"
    close(staff, band, what="preview", sets=["2"])
    assert not ShowVersion.objects.filter(for_event=band.event).exists()


def test_a_line_is_closed_up_for_this_event_alone(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    close(signed_in(cast.staff), band, sets=["1", "2", "4"])
    made = queries.current_versions({show.pk}, band.event)[show.pk]
    assert made.change is not None
    assert made.for_event == band.event and made.change["code"] == "close"
    assert queries.current_versions({show.pk})[show.pk].label == "first"
    line = {f"1-{n}": x for n, x in ((1, 0), (2, 1920), (3, 3840), (5, 5760))}
    assert line.items() <= xs(made, "1").items() and "1-4" not in xs(made, "1")
    assert xs(made, "3")["1-3"] == 4 * STEP, "not chosen: stands where it stood"
    draft = queries.draft(band.event)
    assert draft is not None
    assert words(draft, "1-4") == {("closed-up", "closed up")}
    assert OpenSeat.objects.count() == 2, "pregame marches the same show"
    lineup, halftime = reverse("lineup", args=[band.event.pk]), str(band.halftime.pk)
    page = signed_in(cast.staff).get(lineup)
    assert "(1-4)" in page.text and "closed up" in page.text
    field = signed_in(cast.staff).get(lineup, {"view": "field", "segment": halftime, "set": "2"})
    assert [(d.label, d.x) for d in field.context["picture"].closed] == [("1-4", 6 * STEP)]
    assert ">(1-4)</text>" in field.text and "in brackets, the line is closed up" in field.text


def test_after_a_cut_the_closed_up_place_is_still_named_on_the_field(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    staff = signed_in(cast.staff)
    close(staff, band)
    staff.post(
        reverse("cut-show", args=[band.event.pk, show.pk]), {"first": "2", "last": "2", "counts": 8}
    )
    query = {"view": "field", "segment": str(band.halftime.pk), "set": "3"}
    page = staff.get(reverse("lineup", args=[band.event.pk]), query)
    assert [(d.label, d.x) for d in page.context["picture"].closed] == [("1-4", 6 * STEP)]


def test_a_spot_left_open_has_its_label_on_the_field(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    leave_open(actor=cast.staff, event=band.event, segment=band.halftime, spot=band.spots["1-4"])
    emptied(band, cast)
    query = {"view": "field", "segment": str(band.halftime.pk)}
    page = signed_in(cast.staff).get(reverse("lineup", args=[band.event.pk]), query)
    picture = page.context["picture"]
    assert ([d.label for d in picture.opens], picture.closed) == (["1-4"], ())
    assert 'class="opens"' in page.text and ">1-4</text>" in page.text


def test_a_seat_that_is_filled_stays(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    open_draft(actor=cast.staff, event=band.event)
    page = close(signed_in(cast.staff), band)
    assert "Dee Quill marches 1-4 in Pregame: empty it first." in page.text
    assert not ShowVersion.objects.filter(for_event=band.event).exists()


def test_after_the_cut_off_only_the_director(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    past = datetime.datetime(2020, 1, 1, tzinfo=datetime.UTC)
    Event.objects.filter(pk=band.event.pk).update(cut_off=past)
    staff = signed_in(cast.staff)
    close(staff, band)
    staff.post(
        reverse("cut-show", args=[band.event.pk, show.pk]), {"first": "2", "last": "2", "counts": 8}
    )
    assert not ShowVersion.objects.filter(for_event=band.event).exists()
    close(signed_in(cast.director), band)
    staff.post(reverse("drill-undo", args=[band.event.pk, show.pk]))
    assert ShowVersion.objects.filter(for_event=band.event).count() == 1


def test_it_is_taken_back_in_one_step(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    staff = signed_in(cast.staff)
    close(staff, band)
    assert (
        "Take the newest change back"
        in staff.get(reverse("event-drill", args=[band.event.pk])).text
    )
    staff.post(reverse("drill-undo", args=[band.event.pk, show.pk]))
    assert not ShowVersion.objects.filter(for_event=band.event).exists()
    assert not OpenSeat.objects.exists()
    draft = queries.draft(band.event)
    assert draft is not None and words(draft, "1-4") == {("hole", "hole")}
    again = staff.post(reverse("drill-undo", args=[band.event.pk, show.pk]), follow=True)
    assert "Nothing of Tidewheel is changed for Brackenfield at home alone." in again.text


def test_an_order_of_before_outlives_the_undoing(band: Band, show: Show, cast: Cast) -> None:
    emptied(band, cast)
    leave_open(actor=cast.staff, event=band.event, segment=band.halftime, spot=band.spots["1-4"])
    told = Told(actor=cast.staff, event=band.event, show=show)
    line = ["1-1", "1-2", "1-3", "1-4", "1-5"]
    closing.close_up(**told, spot=band.spots["1-4"], line=line, sets=["1"])
    closing.undo_change(**told)
    assert OpenSeat.objects.get().segment == band.halftime


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
    now = queries.current_versions({show.pk}, band.event)[show.pk]
    assert xs(now, "1") == xs(show.versions.get(label="first"), "1")
    assert not OpenSeat.objects.exists()
    draft = open_draft(actor=cast.staff, event=band.event)
    notice = change_notice(build(band.event), draft)
    assert {m.label for m in notice.sets} == {"1", "2", "3", "4"}


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
    assert not ShowVersion.objects.filter(for_event=band.event).exists()
    assert staff.post(url, cut | {"counts": 16, "what": "preview"}).context["flagged"] == 0
    staff.post(url, cut | {"counts": 16})
    made = queries.current_versions({show.pk}, band.event)[show.pk]
    assert list(made.sets.values_list("label", "counts")) == [("1", 8), ("4", 16)]
    second = publish(band, cast, 1)
    told = Notice.objects.get(lineup=second, member=band.members["Hal Brook"]).content
    assert [m[2:] for m in told["sets"]] == [["4", ["1", 16]]] * 2, "both segments"
    news = staff.get(reverse("revision", args=[second.pk]))
    assert "comes straight from set 1, in 16 counts" in news.text


def test_nonsense_is_refused_in_words(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    emptied(band, cast)
    staff, url = signed_in(cast.staff), reverse("cut-show", args=[band.event.pk, show.pk])
    turned = staff.post(url, {"first": "3", "last": "2", "counts": 8})
    assert "The first and the last set stay" in turned.text
    assert "Select a valid choice" in staff.post(url, {"first": "1", "last": "2", "counts": 8}).text
    unknown = close(staff, band, line="1-1, 1-4, 9-9")
    assert "has no place 9-9" in unknown.text
    short = close(staff, band, line="1-4, 1-5")
    assert "two others at least" in short.text
    assert not ShowVersion.objects.filter(for_event=band.event).exists()


def test_words_of_ways_stay_with_those_who_go_as_before(band: Band, show: Show, cast: Cast) -> None:
    emptied(band, cast)
    page = DrillSet.objects.get(version__show=show, label="2")
    for label in ("1-2", "2-3"):
        place = Place.objects.get(show=show, label=label)
        Path.objects.create(set=page, place=place, words="forward 8")
    made = closing.close_up(
        actor=cast.staff,
        event=band.event,
        show=show,
        spot=band.spots["1-4"],
        line=["1-1", "1-2", "1-3", "1-4", "1-5"],
        sets=["1", "2", "3", "4"],
    )
    kept = {p.place.label: (p.words, p.curved) for p in Path.objects.filter(set__version=made)}
    assert kept == {"2-3": ("forward 8", False), "1-2": ("", True)}


@pytest.mark.parametrize("change", ["close", "cut"])
def test_a_change_after_publishing_opens_a_draft_to_publish(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn, change: str
) -> None:
    away(band, cast, "Dee Quill")
    publish(band, cast)
    assert queries.draft(band.event) is None
    staff = signed_in(cast.staff)
    if change == "close":
        close(staff, band)
    else:
        url = reverse("cut-show", args=[band.event.pk, show.pk])
        staff.post(url, {"first": "2", "last": "3", "counts": "24"})
    draft = queries.draft(band.event)
    assert draft is not None
    page = staff.get(reverse("publish", args=[band.event.pk]))
    assert page.status_code == 200
    second = publish(band, cast, 1)
    assert second.show_versions[str(show.pk)] == ShowVersion.objects.get(for_event=band.event).pk
    assert second.change_notice is not None and second.change_notice["sets"]
    if change == "close":
        assert ("closed-up", "closed up") in words(second, "1-4")


def labels_at(event: Event, show: Show) -> list[str]:
    version = queries.current_versions({show.pk}, event)[show.pk]
    return list(version.sets.order_by("order").values_list("label", flat=True))


def test_changes_are_restored_one_after_another(band: Band, show: Show, cast: Cast) -> None:
    """Two cuts, published one by one: each restoring takes one back, then the show is its own."""
    publish(band, cast)
    told = Told(actor=cast.staff, event=band.event, show=show)
    closing.cut_show(**told, first="2", last="2", counts=16)
    publish(band, cast, 1)
    closing.cut_show(**told, first="3", last="3", counts=24)
    publish(band, cast, 2)
    closing.restore(**told)
    assert labels_at(band.event, show) == ["1", "3", "4"]
    with pytest.raises(Refused, match="restore this one too"):
        closing.undo_change(**told)
    closing.restore(**told)
    assert labels_at(band.event, show) == ["1", "2", "3", "4"]
    with pytest.raises(Refused, match="Nothing of Tidewheel is changed"):
        closing.restore(**told)


def test_what_is_restored_follows_the_show_again(
    band: Band, show: Show, cast: Cast, signed_in: SignedIn
) -> None:
    publish(band, cast)
    told = Told(actor=cast.staff, event=band.event, show=show)
    closing.cut_show(**told, first="2", last="2", counts=16)
    publish(band, cast, 1)
    page = signed_in(cast.staff).get(reverse("event-drill", args=[band.event.pk]))
    assert [row["newest"] is not None for row in page.context["rows"]] == [True]
    closing.restore(**told)
    page = signed_in(cast.staff).get(reverse("event-drill", args=[band.event.pk]))
    assert [row["newest"] for row in page.context["rows"]] == [None]
    first = show.versions.get(label="first")
    second = start_version(actor=cast.staff, show=show, label="second", copy_of=first)
    use_version(actor=cast.staff, version=second)
    assert queries.current_versions({show.pk}, band.event)[show.pk] == second


def test_a_jump_that_a_cut_makes_worse_is_news(band: Band, show: Show, cast: Cast) -> None:
    """What was warned of before does not hide what is far worse now."""
    Position.objects.filter(set__label="4", place__label="1-1").update(x=30 * STEP)
    changed = closing.cut_down(band.event, show, "2", "3", 4)
    assert any("1-1" in {changed.after.places[p] for p in f.places} for f in changed.new)


class Seat(TypedDict):
    event: Event
    spot: Spot


def test_an_order_for_one_segment_leaves_pins_of_others(band: Band, show: Show, cast: Cast) -> None:
    seat = Seat(event=band.event, spot=band.spots["1-4"])
    dee = band.members["Dee Quill"]
    orders: dict[str, Callable[[], OpenSeat | Bar]] = {
        "leave_open": partial(leave_open, actor=cast.staff, segment=band.halftime, **seat),
        "bar_member": partial(
            bar_member, actor=cast.staff, segment=band.halftime, member=dee, **seat
        ),
    }
    for name, order in orders.items():
        pin_member(actor=cast.staff, segment=band.pregame, member=dee, **seat)
        pin_member(actor=cast.staff, segment=band.halftime, member=dee, **seat)
        made = order()
        assert [pin.segment for pin in Pin.objects.all()] == [band.pregame], name
        lift_order(actor=cast.staff, order=made)


def test_a_card_pictures_one_set(band: Band, show: Show, cast: Cast) -> None:
    """Somebody without a coordinate in set 1 starts in set 2: so do the others around them."""
    Position.objects.filter(set__label="1", place__label="1-1").delete()
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

    def test_a_spot_sent_to_another_place_is_told_and_kept_until_then(
        self, band: Band, show: Show, cast: Cast, new: ShowVersion
    ) -> None:
        second = publish(band, cast, 1)
        other = Place.objects.create(show=show, label="X")
        for one in new.sets.all():
            Position.objects.create(set=one, place=other, x=0, y=9 * STEP)
        places = {band.spots["1-1"]: other}
        map_places(actor=cast.staff, show=show, places=places)
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
