"""The files of a revision's prints: tags, sizes, codes, and names of every script."""

from __future__ import annotations

import shutil
import subprocess
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import segno
from django.urls import reverse
from PIL import Image

from bandops import doctor
from drill.lineup.models import Lineup
from drill.publishing.services.print_kinds import render_print
from tests.drill.publishing.revision_prints import (
    A4,
    LETTER,
    pdf,
    publish,
    resolved,
    second,
    structure,
    tags,
    texts,
)
from tests.factories import Band, Cast

__all__ = ["second"]

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]


@pytest.mark.parametrize("kind", ["lineup", "assignments"])
def test_prints_are_tagged_named_and_in_a_language(second: Lineup, kind: str) -> None:
    reader = pdf(second, kind)
    root = reader.root_object
    assert reader.metadata is not None
    title = {"lineup": "Lineup", "assignments": "Rehearsal assignments"}[kind]
    assert reader.metadata.title == f"{title}: Pellowick at home, revision 2"
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
