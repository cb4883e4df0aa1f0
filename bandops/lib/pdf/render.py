"""From a template to a tagged PDF. WeasyPrint is imported only when a print is made."""

from __future__ import annotations

import atexit
import importlib
import io
import logging
from collections import Counter
from collections.abc import Sequence
from contextlib import redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import segno
from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone

from bandops.lib.errors import NotHere
from bandops.lib.pdf.letters import can_show

if TYPE_CHECKING:
    from weasyprint import HTML
    from weasyprint.document import Document

log = logging.getLogger(__name__)

HERE = Path(__file__).resolve().parent
PAGE_SIZES = {"letter": "Letter", "a4": "A4", "half letter": "5.5in 8.5in", "a5": "A5"}
NO_PRINTS = (
    "This server cannot make prints: its PDF libraries are missing."
    " Whoever runs the site can install them (“make doctor” names them)."
)


@cache
def can_print() -> bool:
    """Whether the PDF library loads here; asked once, for each failed try prints a banner."""
    with redirect_stdout(io.StringIO()):
        try:
            importlib.import_module("weasyprint")
        except OSError:
            return False
    logging.getLogger("weasyprint").addFilter(_is_news)
    return True


def _is_news(record: logging.LogRecord) -> bool:
    """Not that fonts are made smaller without HarfBuzz: it works, and is said for each font."""
    return "fontTools instead of HarfBuzz" not in record.msg


def render_pdf(
    template: str, context: dict[str, Any], *, paper: str, title: str, zone: ZoneInfo
) -> bytes:
    """PDF/UA-tagged bytes of a template that extends ``pdf/page.html``; ``zone`` is the season's.

    The same context gives the same text and structure; KeyError for an unknown paper, NotHere
    where no prints can be made.
    """
    if not can_print():
        raise NotHere(NO_PRINTS)
    page = {
        **context,
        "paper": PAGE_SIZES[paper],
        "title": title,
        "practice": settings.PRACTICE,
    }
    with timezone.override(zone):
        html = render_to_string(template, page)
    boxes = "".join(sorted(letter for letter in set(html) if not can_show(letter)))
    if boxes:
        log.warning("no font has %s, in “%s”", boxes, title)
    return write_pdf(html)


def write_pdf(html: str) -> bytes:
    """The bytes of a whole page of HTML."""
    from weasyprint import HTML

    document = _fitted(HTML(string=html, base_url=HERE.as_uri() + "/"))
    content = document.write_pdf(pdf_variant="pdf/ua-1")
    assert content is not None
    return bytes(content)


TIGHTER = (
    "--pad: .75mm; --line: 1.2; --name: 11.5pt; --gap: 2.4mm;",
    "--pad: .35mm; --line: 1.14; --name: 10.5pt; --gap: 1mm;",
    "--pad: .1mm; --line: 1.08; --name: 10.5pt; --gap: .5mm; --word: inline;"
    " --title: 14pt; --lead: 10pt; --runs: 9.5pt;",
    "--spill-last: page;",
    "--spill: page;",
)
"""how a sheet that runs over its page is set next; what fits in no way breaks where its template
says, rather than with a leftover on the next page"""


def _fitted(source: HTML) -> Document:
    """The document laid out; of each ``section`` with an id ``sheet-…`` that runs over its page,
    rows are set closer until it fits, if it can."""
    document = _laid_out(source, {})
    tried: dict[str, int] = {}
    more = [name for name, pages in _pages(document).items() if pages > 1]
    if not more:
        return document
    while more:
        tried |= {name: tried.get(name, 0) + 1 for name in more}
        pages = _pages(_laid_out(source, tried, only=more))
        more = [name for name in more if not _settled(tried[name], pages[name])]
    return _laid_out(source, tried)


def _settled(step: int, pages: int) -> bool:
    """Whether a sheet stays as it is set: on one page, broken once where it may be, or since
    nothing else is left to try."""
    broken = "--spill-last" in TIGHTER[step - 1]
    return pages <= (2 if broken else 1) or step == len(TIGHTER)


def _laid_out(source: HTML, tried: dict[str, int], only: Sequence[str] = ()) -> Document:
    """The document with some sheets set closer; ``only`` these sheets, to try them."""
    from weasyprint import CSS

    rules = [f"#{name} {{ {TIGHTER[n - 1]} }}" for name, n in tried.items()]
    if only:
        others = "".join(f":not(#{name})" for name in only)
        rules.append(f"section[id^=sheet-]{others} {{ display: none }}")
    sheets = [_stylesheet(), *([CSS(string=" ".join(rules))] if rules else [])]
    return source.render(stylesheets=sheets, font_config=_fonts(), pdf_variant="pdf/ua-1")


def _pages(document: Document) -> Counter[str]:
    """On how many pages each sheet stands."""
    names = (name for page in document.pages for name in page.anchors)
    return Counter(name for name in names if name.startswith("sheet-"))


@cache
def _fonts() -> Any:
    """One font configuration a process, made on first use (never before a fork)."""
    from weasyprint.text.fonts import FontConfiguration

    return FontConfiguration()


@cache
def _stylesheet() -> Any:
    from weasyprint import CSS

    return CSS(filename=str(HERE / "print.css"), font_config=_fonts())


@atexit.register
def _forget() -> None:
    """Drop the fonts while the interpreter is still whole."""
    _stylesheet.cache_clear()
    _fonts.cache_clear()


def code_image(text: str) -> str:
    """A QR code of the text as an SVG data address."""
    code = segno.make(text, error="m", micro=False)
    return code.svg_data_uri(border=4, scale=1, dark="#000", light="#fff")


PAPERS = {"letter": "US Letter", "a4": "A4"}


@dataclass(frozen=True)
class Made:
    """A print: its short name, title and PDF bytes."""

    name: str
    title: str
    content: bytes
