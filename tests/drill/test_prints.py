"""The prints of a revision: pages, marks, tags, sizes, codes, and names of every script."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import segno
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from bandops import doctor
from drill.models import Cover, Lineup
from drill.pdf.prints import render_print
from drill.services.absences import Report, report_absence
from drill.services.lineups import open_draft, take_proposal
from drill.services.publishing import publish_lineup
from tests.factories import Band, Cast
from tests.reading import steady

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]
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
    Cover.objects.create(spot=band.spots["1-2"], member=band.members["Jon Pell"], order=1)
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
        elif isinstance(node, dict):
            if "/S" in node:
                found.append(node)  # type: ignore[arg-type]
            if "/K" in node:
                walk(node["/K"])

    walk(reader.root_object["/StructTreeRoot"])
    return found


def tags(reader: PdfReader) -> list[str]:
    return [str(element["/S"]) for element in structure(reader)]


def test_the_front_page_says_what_is_open_what_changed_and_who_stands_in(second: Lineup) -> None:
    front = texts(pdf(second))[0]
    assert front.startswith("Brackenfield at home Saturday 17 October 2099")
    holes, changes = front.index("Holes"), front.index("Changes since revision 1")
    assert re.search(r"2-3 Sousaphone, Pregame, Halftime", front[holes:changes])
    for line in (
        "Halftime: Cai Ørnberg steps out of 1-3",
        "Halftime: Ida Voss steps in at 1-3",
        "Pregame: Hal Brook steps out of 2-3",
    ):
        assert line in front[changes:]
    assert re.search(r"1-3 Ida Voss Cai Ørnberg Pregame, Halftime", front[changes:])


def test_a_first_publication_and_a_full_band_say_so(band: Band, cast: Cast) -> None:
    front = texts(pdf(publish(band, cast)))[0]
    assert "None: every spot is filled." in front and "Changes since" not in front


@pytest.mark.parametrize(("kind", "first_rank"), [("lineup", 1), ("assignments", 0)])
def test_each_rank_has_a_page_with_its_spots_and_nobody_elses(
    second: Lineup, kind: str, first_rank: int
) -> None:
    pages = texts(pdf(second, kind))
    assert len(pages) == first_rank + 2
    one, two = pages[first_rank:]
    assert one.startswith("Rank 1") and two.startswith("Rank 2")
    for spot, name in (("1-1", "Ana Núñez"), ("1-3", "Ida Voss"), ("1-5", "Eno Farrow")):
        assert spot in one and name in one and spot not in two
    assert "Fay Ashgrove" in two and "Fay Ashgrove" not in one
    assert re.search(r"2-3 .*hole", two)


def test_what_changed_is_marked_on_the_rank(second: Lineup) -> None:
    rank = texts(pdf(second))[1]
    assert rank.count("▸ Ida Voss") == 2 and "▸ Ana Núñez" not in rank
    assert "▸ changed since revision 1" in rank


def test_covers_and_what_they_start_from_stand_on_the_assignments(second: Lineup) -> None:
    page = texts(pdf(second, "assignments"))[0]
    assert re.search(r"1-2 .*1\. Jon Pell", page)
    assert "Only the athletic trainer clears anyone to march." in page


@pytest.mark.parametrize("kind", ["lineup", "assignments"])
def test_every_page_carries_event_revision_time_and_its_number(second: Lineup, kind: str) -> None:
    assert second.published_at is not None
    moment = second.published_at.astimezone(second.event.zone)
    reader = pdf(second, kind)
    for number, text in enumerate(texts(reader), 1):
        assert "Brackenfield at home, Sat 17 Oct 2099, revision 2" in text
        assert f"published {moment:%a %d %b %Y %H:%M %Z}" in text
        assert f"page {number} of {len(reader.pages)}" in text


@pytest.mark.parametrize("kind", ["lineup", "assignments"])
def test_prints_are_tagged_named_and_in_a_language(second: Lineup, kind: str) -> None:
    reader = pdf(second, kind)
    root = reader.root_object
    assert reader.metadata is not None
    title = {"lineup": "Lineup", "assignments": "Rehearsal assignments"}[kind]
    assert reader.metadata.title == f"{title}: Brackenfield at home, revision 2"
    assert str(root["/Lang"]) == "en"
    assert resolved(root["/MarkInfo"])["/Marked"] is True or resolved(root["/MarkInfo"])["/Marked"]
    assert resolved(root["/ViewerPreferences"])["/DisplayDocTitle"]
    seen = Counter(tags(reader))
    assert seen["/H1"] == len(reader.pages), "each page begins with its heading"
    assert seen["/Table"] and seen["/TH"] and seen["/TD"]
    figures = [e for e in structure(reader) if str(e["/S"]) == "/Figure"]
    assert all(str(f.get("/Alt", "")) for f in figures)


@pytest.mark.parametrize(("paper", "size"), [("letter", LETTER), ("a4", A4)])
@pytest.mark.parametrize("kind", ["lineup", "assignments"])
def test_both_papers_hold_every_page_without_running_over(
    second: Lineup, kind: str, paper: str, size: tuple[int, int]
) -> None:
    reader = pdf(second, kind, paper)
    sizes = {(round(p.mediabox.width), round(p.mediabox.height)) for p in reader.pages}
    assert sizes == {size}
    assert len(reader.pages) == (3 if kind == "lineup" else 2)


def test_only_the_changed_ranks(band: Band, cast: Cast) -> None:
    publish(band, cast)
    out(band, cast, "Cai Ørnberg")
    second = publish(band, cast, 1)
    pages = texts(pdf(second, only="changes"))
    assert len(pages) == 2 and pages[1].startswith("Rank 1")
    assert [p[:6] for p in texts(pdf(second, "assignments", only="changes"))] == ["Rank 1"]
    made = render_print(second, "lineup", "letter", "changes")
    assert (made.name, made.title) == (
        "lineup-letter-changes",
        "Lineup, US Letter, changed ranks only",
    )


def test_the_same_data_make_the_same_print(second: Lineup) -> None:
    one, two = pdf(second), pdf(Lineup.objects.get(pk=second.pk))
    assert texts(one) == texts(two)
    assert tags(one) == tags(two)


def test_no_reason_and_no_doubt_is_printed(second: Lineup) -> None:
    for kind in ("lineup", "assignments"):
        printed = " ".join(texts(pdf(second, kind))).lower()
        for word in (
            "doubtful",
            "health",
            "conduct",
            "band rules",
            "family",
            "chance",
            "0.3",
            "reason",
        ):
            assert word not in printed
        assert "dee quill" in printed


def test_the_code_of_a_print_leads_to_its_page(
    second: Lineup, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.SITE_URL = "https://band.example"
    asked = []
    original = segno.make

    def watch(text: str, **options: Any) -> Any:
        asked.append(text)
        return original(text, **options)

    monkeypatch.setattr(segno, "make", watch)
    render_print(second, "lineup", "letter", "")
    assert asked == [f"https://band.example{reverse('code', args=[second.code])}"]


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm to draw the pages")
def test_each_page_shows_that_code(second: Lineup, settings: Any, tmp_path: Path) -> None:
    """The squares on paper are those of the address, dot for dot, wide enough for a phone."""
    settings.SITE_URL = "https://band.example"
    made = render_print(second, "lineup", "letter", "")
    (tmp_path / "print.pdf").write_bytes(made.content)
    dpi = 400
    command = ["pdftoppm", "-gray", "-r", str(dpi), "print.pdf", "page"]
    subprocess.run(command, cwd=tmp_path, check=True)
    drawn = sorted(tmp_path.glob("page-*.pgm"))
    assert len(drawn) == 3
    address = f"https://band.example{reverse('code', args=[second.code])}"
    matrix = [list(row) for row in segno.make(address, error="m", micro=False).matrix]
    for page in drawn:
        squares, dot_mm = code_on(page, len(matrix), dpi)
        assert squares == matrix
        assert dot_mm >= 0.33  # common practice, no source: about 4 dots of a 300 dpi printer


def code_on(page: Path, count: int, dpi: int) -> tuple[list[list[int]], float]:
    """The code's squares at the bottom left of a drawn page, and the width of one in mm."""
    image = Image.open(page)
    left, bottom = 32 / 25.4 * dpi, image.height - 28 / 25.4 * dpi
    corner = image.crop((0, round(bottom), round(left), image.height))
    box = corner.point(lambda level: 255 if level < 128 else 0).getbbox()
    assert box is not None
    dot = (box[2] - box[0]) / count
    middles = [(n + 0.5) * dot for n in range(count)]
    pixels: Any = corner.load()
    squares = [
        [int(pixels[int(box[0] + x), int(box[1] + y)] < 128) for x in middles] for y in middles
    ]
    return squares, dot / dpi * 25.4


@pytest.mark.parametrize(
    ("name", "language"),
    [
        ("Nguyễn Thị Ánh Tuyết", "vi"),
        ("Łukasz Żółkiewski", "pl"),
        ("Ευρυδίκη Παππά", "el"),
        ("Дарья Щукина", "ru"),
        ("김서연", "ko"),
        ("林小雨", "zh"),
        ("ليلى حداد", "ar"),
    ],
)
def test_names_of_every_script_are_printed(
    name: str, language: str, band: Band, cast: Cast
) -> None:
    person = band.members["Ana Núñez"].person
    person.used_name = name
    person.save()
    if not covered(language):
        pytest.skip(f"no font of this machine has the letters of {language}")
    printed = "".join(texts(pdf(publish(band, cast))))
    letters = set(name) - {" "}
    assert letters <= set(printed), f"not printed: {letters - set(printed)}"


def covered(language: str) -> bool:
    """True when a font of the machine has a language's letters; our own has the first four."""
    if language in ("vi", "pl", "el", "ru"):
        return True
    if shutil.which("fc-list") is None:
        return False
    command = ["fc-list", f":lang={language}", "family"]
    return bool(subprocess.run(command, capture_output=True, check=True).stdout.strip())
