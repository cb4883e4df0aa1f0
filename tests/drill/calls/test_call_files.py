"""The files of a rehearsal call: papers, stamps, who asks for one and who opens it."""

from __future__ import annotations

import io
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.urls import reverse
from pypdf import PdfReader

from bandops import doctor
from bandops.lib.outbox.models import Artifact, Job
from drill.calls.services import ask_for_call, call_group
from drill.events.models import Event
from tests.architecture.world import client_of
from tests.drill.calls.rehearsal_calls import pdf, rehearsal
from tests.drill.publishing.revision_prints import A4, LETTER, publish, tags, texts
from tests.factories import Band, Cast

__all__ = ["rehearsal"]

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]


def test_the_stamp_names_the_rehearsal_the_lineup_and_the_time(
    rehearsal: Event, band: Band, cast: Cast, settings: Any
) -> None:
    settings.SITE_URL = "https://band.example"
    lineup = publish(band, cast)
    reader = pdf(rehearsal)

    def printed(number: int) -> str:
        return reader.pages[number - 1].extract_text().replace("\n", "")

    for number, page in enumerate(texts(reader), 1):
        assert "Rehearsal Thursday, Thu, Oct 15, 2099 · Pellowick at home, revision 1" in page
        assert "made Thu, Oct 15, 2099, 1:10 PM CDT · scan to see if the lineup is current" in page
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
    from drill.lineup.services.drafts import open_draft

    open_draft(actor=cast.staff, event=band.event)
    for_staff, for_leaders = (texts(pdf(rehearsal, with_draft=d))[0] for d in (True, False))
    assert "draft for Pellowick at home, not published" in for_staff
    assert "Ida Voss ▸ stands in" in for_staff and "/r/" not in for_staff
    assert "stands in" not in for_leaders and "no lineup yet" in for_leaders
    assert "Alternates: what each learns" in for_leaders


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
    assert made.title == "Rehearsal call, US Letter, made Thu, Oct 15, 2099, 1:10 PM CDT"
    file = reverse("call-file", args=[rehearsal.pk, made.pk])
    assert file in client.get(address).content.decode()
    response = client.get(file)
    assert response["Content-Type"] == "application/pdf" and response.content[:4] == b"%PDF"
    for role in ("leader", "member", "equipment", "evaluator"):
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
