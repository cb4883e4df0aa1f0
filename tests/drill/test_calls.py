"""The rehearsal call: who learns what, who is away, and never why."""

from __future__ import annotations

import datetime
import io
import uuid
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.urls import reverse
from pypdf import PdfReader

from bandops import doctor
from bandops.lib.outbox.models import Artifact, Job
from drill.models import (
    Absence,
    Cover,
    CoverPlan,
    DrillSet,
    Event,
    Lesson,
    Lineup,
    Place,
    Position,
)
from drill.pdf.calls import render_call
from drill.services.calls import ask_for_call, call_group
from tests.architecture.world import client_of
from tests.drill.rehearsing import DAY, add_sets, clock, make_rehearsal, tidewheel
from tests.drill.test_prints import A4, LETTER, out, publish, tags, texts
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]
STEP = 720


@pytest.fixture
def rehearsal(band: Band, cast: Cast) -> Iterator[Event]:
    """Cai is out for the game, Eno for the day of the rehearsal, Dee doubtful for the game; Jon
    learns two spots this week, Ida and Kit are named covers."""
    add_sets(tidewheel(band), "1", "2")
    show = tidewheel(band)
    for x, spot in enumerate(band.spots.values(), 1):
        place = Place.objects.create(show=show, label=spot.label)
        for drill_set in DrillSet.objects.filter(version__show=show):
            Position.objects.create(set=drill_set, place=place, x=STEP * x, y=STEP * 4)
    for spot, name, order in (
        ("1-1", "Jon Pell", 1),
        ("1-2", "Ida Voss", 1),
        ("2-1", "Kit Moss", 1),
    ):
        Cover.objects.create(spot=band.spots[spot], member=band.members[name], order=order)
    plan = CoverPlan.objects.create(event=band.event)
    for spot in ("1-2", "2-2"):
        Lesson.objects.create(plan=plan, member=band.members["Jon Pell"], spot=band.spots[spot])
    out(band, cast, "Cai Ørnberg", category="health")
    out(band, cast, "Hal Brook", category="conduct")
    out(band, cast, "Dee Quill", kind="doubtful", chance="0.30", category="family")
    away = {"from_date": DAY, "until_date": DAY, "kind": "out", "category": "travel"}
    Absence.objects.create(member=band.members["Eno Farrow"], **away)
    event = make_rehearsal(band)
    with clock(13, 10):
        yield event


def pdf(event: Event, **options: Any) -> PdfReader:
    values = {"paper": "letter", "with_draft": True, **options}
    return PdfReader(io.BytesIO(render_call(event, **values).content))


def test_a_page_a_rank_with_blocks_times_and_places(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    publish(band, cast)
    one, two = texts(pdf(rehearsal))
    for page, rank in ((one, "Rank 1"), (two, "Rank 2")):
        assert page.startswith(f"{rank} · rehearsal call Thursday 15 October, call 4:15 PM")
        assert "4:30 to 6:00 PM Halftime in full Mill Lane practice field Tidewheel" in page
        assert "Only the athletic trainer clears anyone to march." in page
    assert "Ana Núñez" in one and "Ana Núñez" not in two


def test_who_rehearses_each_spot_by_word_and_sign(rehearsal: Event, band: Band, cast: Cast) -> None:
    publish(band, cast)
    one, two = texts(pdf(rehearsal))
    assert "1-1 Ana Núñez 1-2" in one
    assert "1-3 Ida Voss ▸ stands in for Cai Ørnberg" in one
    assert "1-4 Dee Quill ? doubtful" in one
    assert "1-5 Eno Farrow × unavailable at the rehearsal" in one
    assert "2-3 hole" in two
    assert "× Unavailable at the rehearsal: Eno Farrow" in one
    assert "Nobody of the rank is known to be away." in two


def test_segments_that_differ_are_told_apart(rehearsal: Event, band: Band, cast: Cast) -> None:
    out(band, cast, "Bo Larkspur", segment=band.halftime)
    publish(band, cast)
    one = texts(pdf(rehearsal))[0]
    assert "1-2 Pregame: Bo Larkspur Halftime:" in one


def learn_lists(page: str) -> str:
    return page[page.index("Alternates: what each learns") : page.index("Heat and load")]


def test_every_alternate_has_a_learn_list_with_starts(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    """Lessons of the week; without them the named covers; each with where it starts."""
    publish(band, cast)
    one, two = (learn_lists(page) for page in texts(pdf(rehearsal)))
    ida, jon = one.index("Ida Voss"), one.index("Jon Pell")
    assert "1-2 first cover" in one[ida:jon] and "marches 1-3 Pregame, 1-3 Halftime" in one[ida:jon]
    assert "1-2 learns it this week" in one[jon:] and "2-2 learns it this week" in one[jon:]
    assert "1-1" not in one[jon:], "this week's lessons come instead of named covers"
    assert "Kit Moss" in two and "2-1 first cover" in two
    # Places stand one step apart to the right of the 50, eight steps to five yards (common
    # practice, no source): 1-2 is two steps away from it, 2-2 seven.
    assert one[jon:].count("side 2, 2 outside the 50; 4 behind the front sideline") == 2
    assert one[jon:].count("side 2, 1 inside the 45; 4 behind the front sideline") == 2


def test_an_alternate_without_a_spot_is_not_forgotten(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    Cover.objects.all().delete()
    assert "nothing named: works with the rank" in learn_lists(texts(pdf(rehearsal))[1])


def test_the_stamp_names_the_rehearsal_the_lineup_and_the_time(
    rehearsal: Event, band: Band, cast: Cast, settings: Any
) -> None:
    settings.SITE_URL = "https://band.example"
    lineup = publish(band, cast)
    reader = pdf(rehearsal)

    def printed(number: int) -> str:
        return reader.pages[number - 1].extract_text().replace("\n", "")

    for number, page in enumerate(texts(reader), 1):
        assert "Rehearsal Thursday, Thu 15 Oct 2099 · Brackenfield at home, revision 1" in page
        assert "made Thu 15 Oct 2099 13:10 CDT · scan to see if the lineup is current" in page
        assert f"https://band.example{reverse('code', args=[lineup.code])}" in printed(number)
        assert f"page {number} of 2" in page
    assert reader.metadata is not None
    assert reader.metadata.title == "Rehearsal call: Rehearsal Thursday"
    assert tags(reader).count("/H1") == 2


@pytest.mark.parametrize(("paper", "size"), [("letter", LETTER), ("a4", A4)])
def test_both_papers(
    rehearsal: Event, band: Band, cast: Cast, paper: str, size: tuple[int, int]
) -> None:
    publish(band, cast)
    pages = pdf(rehearsal, paper=paper).pages
    assert {(round(p.mediabox.width), round(p.mediabox.height)) for p in pages} == {size}
    assert len(pages) == 2


def test_a_draft_is_for_staff_and_carries_no_code(rehearsal: Event, band: Band, cast: Cast) -> None:
    from drill.services.lineups import open_draft

    open_draft(actor=cast.staff, event=band.event)
    for_staff, for_leaders = (texts(pdf(rehearsal, with_draft=d))[0] for d in (True, False))
    assert "draft for Brackenfield at home, not published" in for_staff
    assert "Ida Voss ▸ stands in" in for_staff and "/r/" not in for_staff
    assert "stands in" not in for_leaders and "no lineup yet" in for_leaders
    assert "Alternates: what each learns" in for_leaders


def test_no_reason_is_printed(rehearsal: Event, band: Band, cast: Cast) -> None:
    publish(band, cast)
    printed = " ".join(texts(pdf(rehearsal))).lower()
    for word in ("health", "conduct", "family", "travel", "band rules", "chance", "0.3", "reason"):
        assert word not in printed
    assert "eno farrow" in printed


def test_staff_ask_for_it_once_and_find_the_file(
    rehearsal: Event,
    band: Band,
    cast: Cast,
    django_capture_on_commit_callbacks: Callable[..., Any],
) -> None:
    publish(band, cast)
    client, address = client_of(cast, "staff"), reverse("call", args=[rehearsal.pk])
    page = client.get(reverse("event", args=[rehearsal.pk])).content.decode()
    key = page.split(f'action="{address}"')[1].split('name="key" value="')[1].split('"')[0]
    with django_capture_on_commit_callbacks(execute=True):
        for _ in range(2):
            assert client.post(address, {"key": key}).status_code == 302
    made = Artifact.objects.get(group=call_group(rehearsal))
    assert Job.objects.filter(group=call_group(rehearsal)).count() == 1
    assert made.title == "Rehearsal call, US Letter, made Thu 15 Oct 13:10"
    file = reverse("call-file", args=[rehearsal.pk, made.pk])
    assert file in client.get(address).content.decode()
    response = client.get(file)
    assert response["Content-Type"] == "application/pdf" and response.content[:4] == b"%PDF"
    for role in ("leader", "member", "gear", "evaluator"):
        assert client_of(cast, role).get(file).status_code == 403


def test_asking_again_later_makes_a_new_one(
    rehearsal: Event, cast: Cast, django_capture_on_commit_callbacks: Callable[..., Any]
) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        for _ in range(2):
            ask_for_call(actor=cast.staff, event=rehearsal, key=uuid.uuid4())
    assert Artifact.objects.filter(group=call_group(rehearsal)).count() == 2


def test_a_leader_opens_the_page_of_the_own_rank(rehearsal: Event, band: Band, cast: Cast) -> None:
    publish(band, cast)
    client = client_of(cast, "leader")
    response = client.get(reverse("call-of-rank", args=[rehearsal.pk, band.ranks["1"].pk]))
    [page] = texts(PdfReader(io.BytesIO(response.content)))
    assert page.startswith("Rank 1") and "Fay Ashgrove" not in page
    for word in ("health", "family", "travel", "conduct"):
        assert word not in page


def test_after_the_last_performance_the_call_still_says_when(band: Band) -> None:
    event = make_rehearsal(band, band.event.date + datetime.timedelta(days=3))
    page = texts(pdf(event))[0]
    assert "No performance follows." in page and "Halftime in full" in page
    assert not Lineup.objects.exists()
