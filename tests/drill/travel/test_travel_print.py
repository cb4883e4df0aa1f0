"""The print of a posted travel list."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import pytest
from pypdf import PdfReader

from bandops import doctor
from bandops.lib.dates import stamp_words
from bandops.lib.errors import Refused
from bandops.lib.outbox.models import Artifact, Job
from drill.lineup.services import drafts, lineups
from drill.publishing.services.publishing import publish_lineup
from drill.travel.pdf import render_travel_list
from drill.travel.services import travel
from tests.drill.travel.travelling import limit, make, out, post, publish, remove, roles
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked and counted")]


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
    assert re.search(r"Ida Voss Trumpet backup", text) and re.search(
        r"Cai Ørnberg Trumpet 1-3", text
    )
    assert "Jon Pell" not in text and "health" not in text
    assert it.posted_at is not None
    moment = it.posted_at.astimezone(band.event.zone)
    assert "Travel list: Pellowick at home, Sat, Oct 17, 2099" in text
    assert f"posted {stamp_words(moment)}" in text and "page 1 of 1" in text
    assert reader.metadata is not None
    assert reader.metadata.title == "Travel list: Pellowick at home"


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
    assert Job.objects.filter(kind="travel.list", done_at__isnull=False).count() == 1
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
    assert any(
        "2-2: the member there can no longer march" in line for line in refusal.value.details
    )


def test_whoever_marches_in_the_published_revision_is_named(band: Band, cast: Cast) -> None:
    """A draft leaves 2-2 open; the card of its marcher would say both: marches, does not travel."""
    publish(band, cast)
    limit(band, 9)
    for segment in (band.pregame, band.halftime):
        draft = drafts.open_draft(actor=cast.staff, event=band.event)
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
    draft = drafts.open_draft(actor=cast.staff, event=band.event)
    publish_lineup(actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=1)
    assert travel.published_only(band.event) == []
