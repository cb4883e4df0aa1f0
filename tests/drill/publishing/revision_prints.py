"""A second revision of the small band's lineup and its prints, read back."""

from __future__ import annotations

import io
import re
from typing import Any

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from drill.absences.services.absences import Report, report_absence
from drill.lineup.models import Backup, Lineup
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import take_proposal
from drill.publishing.services.print_kinds import render_print
from drill.publishing.services.publishing import publish_lineup
from tests.factories import Band, Cast
from tests.reading import steady

LETTER, A4 = (612, 792), (595, 842)


def publish(band: Band, cast: Cast, number: int | None = None) -> Lineup:
    draft = open_draft(actor=cast.staff, event=band.event)
    if number is not None:
        draft = take_proposal(actor=cast.staff, event=band.event, seen_version=draft.version)
    return publish_lineup(
        actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=number
    )


def out(band: Band, cast: Cast, name: str, **values: Any) -> None:
    report = Report(band.members[name], {"kind": "out", "event": band.event, **values})
    report_absence(actor=cast.staff, report=report, by_staff=True)


@pytest.fixture
def second(band: Band, cast: Cast) -> Lineup:
    """Revision 2: a stand-in for Cai in rank 1, a hole at 2-3, Dee doubtful."""
    Backup.objects.create(spot=band.spots["1-2"], member=band.members["Jon Pell"], order=1)
    publish(band, cast)
    out(band, cast, "Cai Ørnberg", category="health")
    out(band, cast, "Hal Brook", category="conduct")
    out(band, cast, "Dee Quill", kind="doubtful", chance="0.30", category="family")
    return publish(band, cast, 1)


def pdf(lineup: Lineup, kind: str = "lineup", paper: str = "letter", only: str = "") -> PdfReader:
    return PdfReader(io.BytesIO(render_print(lineup, kind, paper, only).content))


def texts(reader: PdfReader) -> list[str]:
    """Each page's text with single spaces and without the code of the revision."""
    return [steady(re.sub(r"\s+", " ", page.extract_text())) for page in reader.pages]


def resolved(value: Any) -> Any:
    return value.get_object() if isinstance(value, IndirectObject) else value


def structure(reader: PdfReader) -> list[DictionaryObject]:
    """Every element of the structure tree, in reading order."""
    found: list[DictionaryObject] = []

    def walk(node: Any) -> None:
        node = resolved(node)
        if isinstance(node, list):
            for child in node:
                walk(child)
        elif isinstance(node, DictionaryObject):
            if "/S" in node:
                found.append(node)
            if "/K" in node:
                walk(node["/K"])

    walk(reader.root_object["/StructTreeRoot"])
    return found


def tags(reader: PdfReader) -> list[str]:
    return [str(element["/S"]) for element in structure(reader)]
