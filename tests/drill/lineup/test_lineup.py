"""Who marches, through its pages: what cannot be done is said on the page the form was on."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.absences.services.absences import Report, report_absence
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
GONE = 10**7


@pytest.fixture
def draft(band: Band, cast: Cast) -> Lineup:
    return open_draft(actor=cast.staff, event=band.event)


@pytest.fixture
def staff(draft: Lineup, cast: Cast) -> Client:
    return client_of(cast, "staff")


def said(client: Client, band: Band, url: str, **data: object) -> list[str]:
    """The messages on the page that follows, which is the seat's when nothing was done."""
    seat = reverse("seat", args=[band.event.pk, band.halftime.pk, band.spots["1-3"].pk])
    response = client.post(url, data, follow=True, HTTP_REFERER=f"http://testserver{seat}")
    assert response.status_code == 200
    return [str(message) for message in response.context["messages"]]


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"scope": "segment"}, "Choose a segment."),
        ({"scope": "segment", "segment": "x"}, "Choose a segment."),
        ({"scope": "segment", "segment": GONE}, "That segment is gone: choose again."),
        ({"member": GONE}, "That member is gone: choose again."),
        ({"member": ""}, "Choose a member."),
        *(
            ({"kind": kind}, "Choose out, limited or doubtful.")
            for kind in ("late", "leaves", "in")
        ),
        ({"kind": "ill"}, "Choose out, limited or doubtful."),
    ],
)
def test_what_cannot_be_marked_is_said_on_the_page(
    staff: Client, band: Band, more: dict[str, object], why: str
) -> None:
    url = reverse("mark-out", args=[band.event.pk])
    assert said(staff, band, url, **{"member": band.members["Cai Ørnberg"].pk} | more) == [why]
    assert not Absence.objects.exists()


def test_somebody_is_marked_for_one_segment(staff: Client, band: Band) -> None:
    url = reverse("mark-out", args=[band.event.pk])
    chosen = {"scope": "segment", "segment": band.halftime.pk, "kind": "limited"}
    [text] = said(staff, band, url, member=band.members["Cai Ørnberg"].pk, **chosen)
    assert "Cai Ørnberg is limited" in text
    entry = Absence.objects.get()
    assert (entry.kind, entry.segment) == (AbsenceKind.LIMITED, band.halftime)


def test_emptied_spots_are_named_with_their_segments(
    staff: Client, band: Band, cast: Cast, draft: Lineup
) -> None:
    report = Report(band.members["Gus Tamm"], {"kind": AbsenceKind.OUT, "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)
    url = reverse("place", args=[band.event.pk, band.halftime.pk, band.spots["1-2"].pk])
    jon = band.members["Jon Pell"].pk
    [text] = said(staff, band, url, version=draft.version, member=jon)
    emptied = [line for line in text.splitlines() if line.startswith("Also emptied")]
    assert emptied == [
        f"Also emptied 2-2 in {segment}: its member cannot march."
        for segment in ("Pregame", "Halftime")
    ]
    [text] = said(staff, band, url, version=draft.version, member=GONE)
    assert text == "That member is gone: choose again."


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("spot-backups", {"member": GONE}, "That member is gone: choose again."),
        ("show-dot", {"spot": GONE}, "That spot is gone: choose again."),
        ("show-dot", {"dot": GONE}, "That dot is gone: choose again."),
        ("show-dot", {"dot": "x"}, "Choose a dot."),
        ("desk-fill", {"out": GONE, "number": 1}, "That member is gone: choose again."),
    ],
)
def test_other_forms_with_a_row_that_is_gone_say_so(
    staff: Client, band: Band, name: str, data: dict[str, object], why: str
) -> None:
    spot = band.spots["1-3"].pk
    of = {"spot-backups": spot, "show-dot": band.halftime.show_id, "desk-fill": band.event.pk}
    assert said(staff, band, reverse(name, args=[of[name]]), **{"spot": spot} | data) == [why]
