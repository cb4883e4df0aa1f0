"""Who leads in the leader's place, wherever a lineup is read."""

from __future__ import annotations

import io

import pytest
from django.urls import reverse
from django.utils.html import strip_tags
from pypdf import PdfReader
from pytest_django import DjangoAssertNumQueries

from bandops import doctor
from drill.events.models import Segment
from drill.lineup.models import Lineup, LineupRow
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.leading import leading_in, leading_lines
from drill.lineup.sheets import sheets
from drill.publishing.pdf.slips import render_slips
from tests.architecture.world import client_of
from tests.drill.calls.rehearsal_calls import pdf as call_pdf
from tests.drill.publishing.revision_prints import out, pdf, publish, texts
from tests.drill.rehearsals.rehearsing import make_rehearsal
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
needs_pdf = pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")
LEADS = "Bo Larkspur leads (for Ana Núñez, out)"


@pytest.fixture
def led(band: Band, cast: Cast) -> Lineup:
    """Ana, who leads rank 1, is out; Bo is the assistant leader."""
    out(band, cast, "Ana Núñez", category="health")
    return publish(band, cast)


def first(lineup: Lineup) -> tuple[str, ...]:
    return sheets(lineup).ranks[0].who_leads


def test_a_rank_names_who_leads_for_its_leader(led: Lineup) -> None:
    assert [sheet.who_leads for sheet in sheets(led).ranks] == [(LEADS,), ()]


def test_it_is_said_by_segment_where_it_differs(band: Band, cast: Cast) -> None:
    out(band, cast, "Ana Núñez", segment=band.halftime)
    assert first(publish(band, cast)) == (f"Halftime: {LEADS}",)


def test_without_the_assistant_leader_the_longest_marched_leads(band: Band, cast: Cast) -> None:
    for name in ("Ana Núñez", "Bo Larkspur"):
        out(band, cast, name)
    dee = band.members["Dee Quill"]
    dee.years_marched = 4
    dee.save()
    assert first(publish(band, cast)) == ("Dee Quill leads (for Ana Núñez, out)",)


def test_a_doubtful_leader(band: Band, cast: Cast) -> None:
    lineup = open_draft(actor=cast.staff, event=band.event)
    rows = LineupRow.objects.filter(lineup=lineup, member=band.members["Ana Núñez"])
    rows.update(doubtful=True)
    assert first(lineup) == ("if Ana Núñez is out, Bo Larkspur leads",)


def test_a_leader_who_marches_with_another_rank_is_not_out(band: Band, cast: Cast) -> None:
    lineup = open_draft(actor=cast.staff, event=band.event)
    rows = LineupRow.objects.filter(lineup=lineup, segment=band.halftime)
    rows.filter(member=band.members["Ana Núñez"]).update(member=band.members["Kit Moss"])
    rows.filter(spot=band.spots["2-2"]).update(member=band.members["Ana Núñez"])
    assert first(lineup) == ("Halftime: Bo Larkspur leads (for Ana Núñez, elsewhere)",)


def test_it_is_read_in_few_queries(
    led: Lineup, band: Band, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_max_num_queries(6):
        found = leading_in(led)
    segments = list(Segment.objects.filter(event=band.event, kind__in=("pregame", "halftime")))
    assert leading_lines(found, band.ranks["1"].pk, segments) == (LEADS,)


@pytest.mark.parametrize(
    ("role", "page"),
    [("staff", "lineup"), ("staff", "week"), ("staff", "desk"), ("leader", "my-rank")],
)
def test_the_pages_say_who_leads_and_never_why(
    led: Lineup, band: Band, cast: Cast, role: str, page: str
) -> None:
    url = reverse(page, args=[band.event.pk] if page == "lineup" else [])
    said = client_of(cast, role).get(url).content.decode()
    assert LEADS in said
    assert "health" not in said


def test_a_card_says_who_leads_the_members_rank(led: Lineup, cast: Cast) -> None:
    card = strip_tags(client_of(cast, "member").get(reverse("card")).content.decode())
    assert card.count(LEADS) == 2, "pregame and halftime"


@needs_pdf
def test_the_ranks_print_and_the_slip_say_it(led: Lineup, band: Band) -> None:
    assert LEADS in texts(pdf(led))[1]
    assert "leads" not in texts(pdf(led))[2]
    content = render_slips(led, [band.members["Cai Ørnberg"]], "letter")
    (slip,) = texts(PdfReader(io.BytesIO(content)))
    assert LEADS in slip


@needs_pdf
def test_the_rehearsal_call_says_who_leads_there(band: Band, cast: Cast) -> None:
    """By who is out at the rehearsal, not at the game."""
    rehearsal = make_rehearsal(band)
    out(band, cast, "Ana Núñez", event=rehearsal)
    one, two = texts(call_pdf(rehearsal))
    assert LEADS in one and "leads" not in two
