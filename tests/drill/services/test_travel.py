"""The travel list: made, changed, posted, taken back; what a posted one does to the lineup."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import pytest
from pypdf import PdfReader

import doctor
from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from bandops.lib.outbox.models import Artifact, Job
from drill import queries
from drill.core.problem import Origin
from drill.enums import AbsenceKind, TravelRole, TravelState
from drill.models import Cover, Traveller, TravelList
from drill.pdf.travel import render_travel_list
from drill.services import lineups, orders, travel
from drill.services.absences import Report, report_absence
from drill.services.cards import card
from drill.services.problem_builder import availability, build, key
from drill.services.proposals import propose, seat_candidates
from drill.services.publishing import publish_lineup
from drill.services.releasing import release_member
from drill.services.travel_sheet import Sheet, sheet_of
from drill.sheets import sheets
from roster.models import Member
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked and counted")]
MARCHERS = {
    "Ana Núñez", "Bo Larkspur", "Cai Ørnberg", "Dee Quill", "Eno Farrow", "Fay Ashgrove",
    "Gus Tamm", "Hal Brook",
}  # fmt: skip


def limit(band: Band, most: int | None) -> None:
    band.event.travel_limit = most
    band.event.save()


def roles(band: Band) -> dict[str, str]:
    rows = Traveller.objects.filter(list__event=band.event).select_related("member__person")
    return {t.member.name: t.role for t in rows}


def make(band: Band, cast: Cast) -> TravelList:
    return travel.make_list(actor=cast.staff, event=band.event)


def post(band: Band, cast: Cast) -> TravelList:
    return travel.post_list(actor=cast.staff, event=band.event)


def add(band: Band, cast: Cast, name: str) -> None:
    travel.add_member(actor=cast.staff, event=band.event, member=band.members[name])


def remove(band: Band, cast: Cast, name: str) -> str:
    return travel.remove_member(actor=cast.staff, event=band.event, member=band.members[name])


def out(band: Band, cast: Cast, name: str, **values: Any) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": band.event, **values})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def publish(band: Band, cast: Cast, number: int | None = None) -> None:
    draft = lineups.open_draft(actor=cast.staff, event=band.event)
    publish_lineup(
        actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=number
    )


def sheet(band: Band) -> Sheet:
    return sheet_of(TravelList.objects.get(event=band.event), travel.marching(band.event))


def solved(band: Band) -> dict[str, str]:
    """Spot -> who marches it at halftime by the solver."""
    answer = propose(build(band.event)).answer
    names = {key(m.pk): m.name for m in band.members.values()}
    half = key(band.halftime.pk)
    labels = {key(s.pk): label for label, s in band.spots.items()}
    return {
        labels[p.spot]: names[p.member] if p.member else p.origin.value
        for p in answer.placements
        if p.segment == half
    }


# Making


def test_marchers_and_must_travel_come_first_then_covers_up_to_the_limit(
    band: Band, cast: Cast
) -> None:
    limit(band, 11)
    major = band.member("Max Baton", "clarinet")
    band.event.must_travel.set([major, band.members["Ana Núñez"]])
    make(band, cast)
    found = roles(band)
    assert {n for n, r in found.items() if r == TravelRole.MARCHES} == MARCHERS
    assert {n for n, r in found.items() if r == TravelRole.MUST} == {"Max Baton"}
    covers = {n for n, r in found.items() if r == TravelRole.COVER}
    assert covers == {"Ida Voss", "Kit Moss"}, "first alternates before second ones"


def test_named_covers_go_before_standing(band: Band, cast: Cast) -> None:
    limit(band, 9)
    Cover.objects.create(spot=band.spots["2-1"], member=band.members["Jon Pell"], order=1)
    make(band, cast)
    assert set(roles(band)) - MARCHERS == {"Jon Pell"}


def test_without_a_limit_everybody_who_could_march_goes(band: Band, cast: Cast) -> None:
    make(band, cast)
    assert set(roles(band)) == MARCHERS | {"Ida Voss", "Jon Pell", "Kit Moss"}


@pytest.mark.parametrize("source", ["draft", "published", "proposal"])
def test_the_list_is_of_the_lineup_there_is(band: Band, cast: Cast, source: str) -> None:
    out(band, cast, "Cai Ørnberg")
    if source != "proposal":
        lineups.open_draft(actor=cast.staff, event=band.event)
    if source == "published":
        publish(band, cast)
    limit(band, 8)
    make(band, cast)
    assert roles(band) == dict.fromkeys(MARCHERS - {"Cai Ørnberg"} | {"Ida Voss"}, "marches")
    lineup = travel.marching(band.event).lineup
    assert (lineup is None) == (source == "proposal")
    assert lineup is None or (lineup.number is None) == (source == "draft")


def test_somebody_who_is_out_since_is_no_marcher(band: Band, cast: Cast) -> None:
    publish(band, cast)
    out(band, cast, "Hal Brook")
    make(band, cast)
    assert "Hal Brook" not in roles(band)
    assert sheet(band).holes == 1


def test_a_list_for_which_there_can_be_no_lineup_is_refused(band: Band, cast: Cast) -> None:
    limit(band, 2)
    two = [band.members[name] for name in ("Ana Núñez", "Bo Larkspur")]
    orders.set_must_travel(actor=cast.staff, event=band.event, members=two)
    limit(band, 1)
    with pytest.raises(Refused, match="Who marches"):
        make(band, cast)
    assert not TravelList.objects.exists()


def test_making_it_twice_changes_nothing(band: Band, cast: Cast) -> None:
    limit(band, 10)
    make(band, cast)
    before = AuditEntry.objects.count()
    make(band, cast)
    assert AuditEntry.objects.count() == before
    assert len(roles(band)) == 10


# By hand


def test_adding_and_taking_off(band: Band, cast: Cast) -> None:
    limit(band, 9)
    make(band, cast)
    with pytest.raises(Refused, match="The list is full: 9 of 9"):
        add(band, cast, "Jon Pell")
    assert remove(band, cast, "Ida Voss") == ""
    for _ in range(2):
        add(band, cast, "Jon Pell")
    assert set(roles(band)) == MARCHERS | {"Jon Pell"}
    assert roles(band)["Jon Pell"] == TravelRole.COVER
    for _ in range(2):
        remove(band, cast, "Jon Pell")
    assert set(roles(band)) == MARCHERS


def test_who_cannot_come_is_not_added(band: Band, cast: Cast) -> None:
    limit(band, 9)
    make(band, cast)
    remove(band, cast, "Ida Voss")
    out(band, cast, "Jon Pell", category="health")
    with pytest.raises(Refused, match="Jon Pell is not available") as refusal:
        add(band, cast, "Jon Pell")
    assert "health" not in refusal.value.message
    Member.objects.filter(pk=band.members["Kit Moss"].pk).update(status="left")
    with pytest.raises(Refused, match="not active"):
        add(band, cast, "Kit Moss")
    band.event.must_travel.add(band.members["Jon Pell"])
    add(band, cast, "Jon Pell")
    assert roles(band)["Jon Pell"] == TravelRole.MUST


def test_who_must_travel_is_not_taken_off(band: Band, cast: Cast) -> None:
    band.event.must_travel.add(band.members["Kit Moss"])
    make(band, cast)
    with pytest.raises(Refused, match="Kit Moss must travel"):
        remove(band, cast, "Kit Moss")


def test_filling_keeps_places_for_marchers_who_are_missing(band: Band, cast: Cast) -> None:
    limit(band, 10)
    make(band, cast)
    for name in ("Ida Voss", "Kit Moss"):
        remove(band, cast, name)
    assert remove(band, cast, "Cai Ørnberg") == "1-3"
    added = travel.fill_list(actor=cast.staff, event=band.event)
    assert {str(m) for m in added} == {"Ida Voss", "Kit Moss"}
    with pytest.raises(Refused, match="No place is left"):
        travel.fill_list(actor=cast.staff, event=band.event)
    add(band, cast, "Cai Ørnberg")
    assert set(roles(band)) == MARCHERS | {"Ida Voss", "Kit Moss"}


def test_nothing_is_changed_before_there_is_a_list(band: Band, cast: Cast) -> None:
    for change in (
        lambda: add(band, cast, "Ida Voss"),
        lambda: remove(band, cast, "Ida Voss"),
        lambda: post(band, cast),
        lambda: travel.take_back(actor=cast.staff, event=band.event),
        lambda: travel.fill_list(actor=cast.staff, event=band.event),
    ):
        with pytest.raises(Refused, match="make it first"):
            change()


# Posting


def test_a_performing_spot_is_never_dropped_silently(band: Band, cast: Cast) -> None:
    """A limit below the marchers: refused with the names until the lineup itself is changed."""
    publish(band, cast)
    limit(band, 6)
    make(band, cast)
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    assert refusal.value.details == (
        "8 people are 2 more than the limit of 6. "
        "Take covers off, or change the lineup so that fewer march.",
    )
    remove(band, cast, "Dee Quill")
    remove(band, cast, "Gus Tamm")
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    for start, line in zip(
        ("1-4: Dee Quill marches it", "2-2: Gus Tamm marches it"),
        refusal.value.details,
        strict=True,
    ):
        assert line.startswith(start) and "leave the spot open" in line
    assert queries.travellers(band.event) is None
    for spot in ("1-4", "2-2"):
        orders.leave_open(actor=cast.staff, event=band.event, segment=None, spot=band.spots[spot])
    post(band, cast)
    assert set(roles(band)) == MARCHERS - {"Dee Quill", "Gus Tamm"}
    march = solved(band)
    assert march["1-4"] == march["2-2"] == Origin.LEFT_OPEN
    assert set(march.values()) - {Origin.LEFT_OPEN} == MARCHERS - {"Dee Quill", "Gus Tamm"}


def test_must_travel_and_pinned_people_belong_on_it(band: Band, cast: Cast) -> None:
    publish(band, cast)
    make(band, cast)
    remove(band, cast, "Ida Voss")
    remove(band, cast, "Kit Moss")
    band.event.must_travel.add(band.members["Kit Moss"])
    orders.pin_member(
        actor=cast.staff,
        event=band.event,
        segment=band.halftime,
        spot=band.spots["1-1"],
        member=band.members["Ida Voss"],
    )
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    assert refusal.value.details == (
        "Kit Moss must travel and is not on the list.",
        "Ida Voss is pinned to 1-1 and is not on the list.",
    )


def test_an_empty_list_is_not_posted(band: Band, cast: Cast) -> None:
    band.event.segments.all().delete()
    make(band, cast)
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    assert refusal.value.details == ("Nobody is on it.",)


def test_posted_the_solver_uses_only_travellers_and_taken_back_all_again(
    band: Band, cast: Cast
) -> None:
    publish(band, cast)
    limit(band, 9)
    make(band, cast)
    post(band, cast)
    assert set(roles(band)) == MARCHERS | {"Ida Voss"}
    out(band, cast, "Cai Ørnberg")
    out(band, cast, "Fay Ashgrove")
    march = solved(band)
    assert sorted((march["1-3"], march["2-1"])) == ["Ida Voss", Origin.HOLE]
    built = build(band.event)
    at_home = {built.members[m].name for m in built.at_home}
    assert at_home == {"Jon Pell", "Kit Moss"}
    travel.take_back(actor=cast.staff, event=band.event)
    march = solved(band)
    assert {march["1-3"], march["2-1"]} == {"Ida Voss", "Kit Moss"}
    assert not build(band.event).at_home


def test_a_change_after_posting_makes_lineups_stale(band: Band, cast: Cast) -> None:
    limit(band, 9)
    make(band, cast)
    post(band, cast)
    publish(band, cast)
    last = queries.published(band.event)
    assert last is not None and not lineups.is_stale(last, build(band.event))
    remove(band, cast, "Ida Voss")
    assert lineups.is_stale(last, build(band.event))
    add(band, cast, "Ida Voss")
    assert not lineups.is_stale(last, build(band.event)), "the same facts again"
    travel.take_back(actor=cast.staff, event=band.event)
    assert lineups.is_stale(last, build(band.event))


def test_a_posted_list_loses_no_marcher(band: Band, cast: Cast) -> None:
    publish(band, cast)
    make(band, cast)
    posted = post(band, cast)
    with pytest.raises(Refused, match="Cai Ørnberg marches 1-3"):
        remove(band, cast, "Cai Ørnberg")
    with pytest.raises(Refused, match="take it back"):
        make(band, cast)
    out(band, cast, "Cai Ørnberg")
    remove(band, cast, "Cai Ørnberg")
    assert "Cai Ørnberg" not in roles(band), "whoever is out marches no spot any more"
    again = TravelList.objects.get(event=band.event)
    assert again.posted_at is not None and posted.posted_at is not None
    assert again.posted_at > posted.posted_at, "the list carries the time of its last change"


def test_posting_and_taking_back_twice_are_one(band: Band, cast: Cast) -> None:
    make(band, cast)
    first = post(band, cast).posted_at
    before = AuditEntry.objects.count()
    assert post(band, cast).posted_at == first
    assert AuditEntry.objects.count() == before
    travel.take_back(actor=cast.staff, event=band.event)
    before = AuditEntry.objects.count()
    assert travel.take_back(actor=cast.staff, event=band.event).state == TravelState.DRAFT
    assert AuditEntry.objects.count() == before


def test_staff_read_why_somebody_at_home_cannot_march(band: Band, cast: Cast) -> None:
    limit(band, 8)
    make(band, cast)
    post(band, cast)
    with pytest.raises(Refused, match="they are not on the travel list"):
        orders.pin_member(
            actor=cast.staff,
            event=band.event,
            segment=None,
            spot=band.spots["1-3"],
            member=band.members["Ida Voss"],
        )
    draft = lineups.open_draft(actor=cast.staff, event=band.event)
    with pytest.raises(Refused) as refusal:
        lineups.place_by_hand(
            actor=cast.staff,
            event=band.event,
            seen_version=draft.version,
            segment=band.halftime,
            spot=band.spots["1-3"],
            member=band.members["Ida Voss"],
        )
    assert "not on the travel list" in refusal.value.details[0]


def test_no_hole_is_cured_by_somebody_who_is_not_on_the_trip(band: Band, cast: Cast) -> None:
    """Their return from an absence cannot be named: nothing keeps them but the list."""
    limit(band, 8)
    make(band, cast)
    post(band, cast)
    built = build(band.event)
    assert built.returnable.isdisjoint(built.at_home)
    found = seat_candidates(built, (key(band.halftime.pk), key(band.spots["1-3"].pk)))
    why = {built.members[c.member].name: c.why_not for c in found}
    assert why["Ida Voss"] and not why["Cai Ørnberg"]


def test_who_stays_at_home_is_unavailable_in_lists(band: Band, cast: Cast) -> None:
    limit(band, 8)
    make(band, cast)
    publish(band, cast)
    people = [band.members["Ida Voss"], band.members["Cai Ørnberg"]]
    assert set(availability(band.event, people).values()) == {"available"}
    post(band, cast)
    at = availability(band.event, people)
    assert [at[m.pk] for m in people] == ["unavailable", "available"]
    last = queries.published(band.event)
    assert last is not None
    alternates = [a for rank in sheets(last).ranks for a in rank.alternates]
    assert {a.available for a in alternates} == {"unavailable"}


def test_a_card_says_whether_one_travels_once_it_is_posted(band: Band, cast: Cast) -> None:
    limit(band, 8)
    make(band, cast)
    names = ("Cai Ørnberg", "Ida Voss")

    def travels() -> list[bool | None]:
        return [card(band.members[n], band.event).travels for n in names]

    assert travels() == [None, None], "a draft says nothing"
    post(band, cast)
    assert travels() == [True, False]


def test_whoever_leaves_the_band_leaves_the_list(band: Band, cast: Cast) -> None:
    make(band, cast)
    release_member(
        actor=cast.staff, member=band.members["Ida Voss"], on=band.event.date.replace(day=1)
    )
    assert "Ida Voss" not in roles(band)


def test_a_listed_member_who_is_on_leave_is_named(band: Band, cast: Cast) -> None:
    make(band, cast)
    Member.objects.filter(pk=band.members["Ida Voss"].pk).update(status="on leave")
    assert [m.name for m in sheet(band).gone] == ["Ida Voss"]
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    assert refusal.value.details == ("Ida Voss is not active any more.",)
    remove(band, cast, "Ida Voss")
    post(band, cast)


# What the page says


def test_figures_parts_and_people(band: Band, cast: Cast) -> None:
    limit(band, 10)
    publish(band, cast)
    make(band, cast)
    laid_out = sheet(band)
    assert (laid_out.marchers, laid_out.covers, laid_out.must, laid_out.left) == (8, 2, 0, 0)
    parts = {p.name: p for p in laid_out.parts}
    trumpet, brass = parts["Trumpet"], parts["Sousaphone"]
    assert (trumpet.spots, trumpet.marchers, trumpet.covers) == (5, 5, 2)
    assert (brass.chance, brass.reserve) == ("5%", None)
    assert (str(trumpet.reserve), trumpet.why) == ("Jon Pell", "alternate 2")
    covers = laid_out.travellers[TravelRole.COVER]
    assert [x.member.name for x in covers] == ["Ida Voss", "Kit Moss"]
    # Five marchers and two covers, each out with 5%: no more than 0.3%; one cover: 3%.
    assert {x.change for x in covers} == {"Trumpet from under 1% to 3%"}
    hal = next(x for x in laid_out.lines if x.member.name == "Hal Brook")
    assert (hal.spots, hal.parts, str(hal.rank)) == ("2-3", "Sousaphone", "Rank 2")
    weaker = {x.member.name: x.change for x in laid_out.travellers[TravelRole.MARCHES]}
    assert weaker["Hal Brook"] == "Sousaphone from 5% to 100%"
    assert [x.member.name for x in laid_out.at_home] == ["Jon Pell"]
    assert laid_out.at_home[0].ready == "alternate 2 of Rank 1"


def test_a_doubtful_marcher_counts_with_their_own_chance(band: Band, cast: Cast) -> None:
    make(band, cast)
    out(band, cast, "Hal Brook", kind=AbsenceKind.DOUBTFUL, chance="0.30")
    assert {p.name: p.chance for p in sheet(band).parts}["Sousaphone"] == "30%"


def test_spots_name_the_segment_when_it_is_not_every_one(band: Band, cast: Cast) -> None:
    draft = lineups.open_draft(actor=cast.staff, event=band.event)
    lineups.place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Ida Voss"],
    )
    now = travel.marching(band.event)
    where = {
        n: now.where(key(band.members[n].pk)) for n in ("Cai Ørnberg", "Ida Voss", "Bo Larkspur")
    }
    assert where == {
        "Cai Ørnberg": "1-3 (Pregame)",
        "Ida Voss": "1-3 (Halftime)",
        "Bo Larkspur": "1-2",
    }


# The print


@pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")
@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_the_print_lists_everybody_in_rank_order_with_its_stamp(
    band: Band, cast: Cast, paper: str, size: tuple[int, int]
) -> None:
    limit(band, 9)
    out(band, cast, "Jon Pell", category="health")
    make(band, cast)
    it = post(band, cast)
    reader = PdfReader(io.BytesIO(render_travel_list(it, paper).content))
    box = reader.pages[0].mediabox
    assert (round(box.width), round(box.height)) == size
    text = re.sub(r"\s+", " ", " ".join(p.extract_text() for p in reader.pages))
    order = ["Rank 1 · 6", "Ana Núñez", "Cai Ørnberg", "Ida Voss", "Rank 2 · 3", "Fay Ashgrove"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert re.search(r"Ida Voss Trumpet cover", text) and re.search(
        r"Cai Ørnberg Trumpet 1-3", text
    )
    assert "Jon Pell" not in text and "health" not in text
    assert it.posted_at is not None
    moment = it.posted_at.astimezone(band.event.zone)
    assert "Travel list: Brackenfield at home, Sat 17 Oct 2099" in text
    assert f"posted {moment:%a %d %b %Y %H:%M %Z}" in text and "page 1 of 1" in text
    assert reader.metadata is not None
    assert reader.metadata.title == "Travel list: Brackenfield at home"


@pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")
def test_each_posting_is_printed_once_and_an_old_one_no_more(
    band: Band,
    cast: Cast,
    settings: Any,
    django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:
    settings.JOBS_RUN_IN = "inline"
    make(band, cast)
    with django_capture_on_commit_callbacks() as waiting:
        post(band, cast)
    remove(band, cast, "Ida Voss")
    for job in waiting:
        job()
    assert not Artifact.objects.exists(), "what was changed since is not printed"
    assert Job.objects.filter(kind="drill.travel", done_at__isnull=False).count() == 1
    with django_capture_on_commit_callbacks(execute=True):
        for _ in range(2):
            travel.request_prints(actor=cast.staff, event=band.event, paper="a4")
    assert [a.title for a in Artifact.objects.all()] == ["Travel list, A4"]
    with pytest.raises(Refused, match="Choose a paper"):
        travel.request_prints(actor=cast.staff, event=band.event, paper="foolscap")
    travel.take_back(actor=cast.staff, event=band.event)
    with pytest.raises(Refused, match="once it is posted"):
        travel.request_prints(actor=cast.staff, event=band.event, paper="a4")


def test_a_spot_whose_marcher_can_no_longer_march_is_named(band: Band, cast: Cast) -> None:
    limit(band, 10)
    publish(band, cast)
    out(band, cast, "Gus Tamm")
    make(band, cast)
    with pytest.raises(Refused) as refusal:
        travel.post_list(actor=cast.staff, event=band.event)
    assert any("2-2: who was placed can no longer march" in line for line in refusal.value.details)


def test_whoever_marches_in_the_published_revision_is_named(band: Band, cast: Cast) -> None:
    """A draft leaves 2-2 open; the card of its marcher would say both: marches, does not travel."""
    publish(band, cast)
    limit(band, 9)
    for segment in (band.pregame, band.halftime):
        draft = lineups.open_draft(actor=cast.staff, event=band.event)
        lineups.place_by_hand(
            actor=cast.staff,
            event=band.event,
            seen_version=draft.version,
            segment=segment,
            spot=band.spots["2-2"],
            member=None,
        )
    make(band, cast)
    if "Gus Tamm" in roles(band):
        remove(band, cast, "Gus Tamm")
    assert travel.published_only(band.event) == [
        "Gus Tamm marches 2-2 in revision 1 and does not travel: publish the draft to tell them."
    ]
    post(band, cast)
    draft = lineups.open_draft(actor=cast.staff, event=band.event)
    publish_lineup(actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=1)
    assert travel.published_only(band.event) == []
