"""The prints of set sheets."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from django.utils.text import slugify

from bandops.lib.dates import stamp_words
from bandops.lib.outbox.registry import Store, handles
from bandops.lib.outbox.running import keep_pdf
from bandops.lib.pdf.render import PAPERS
from drill.learning.pdf import render_rank_sheets
from drill.learning.services.sheet_jobs import KIND
from drill.shows.models import ShowVersion
from roster.ranks.models import Rank


@handles(KIND)
def make_sheets(payload: dict[str, Any]) -> Store:
    """Render the sheets of a rank and keep them; nothing of a rank or version that is gone."""
    version = ShowVersion.objects.select_related("show").filter(pk=payload["version"]).first()
    rank = Rank.objects.select_related("season").filter(pk=payload["rank"]).first()
    if version is None or rank is None:
        return lambda: None
    at, paper = timezone.now(), payload["paper"]
    content = render_rank_sheets(rank, version, paper)
    moment = stamp_words(at.astimezone(rank.season.zone))
    title = f"{version.show}, {rank}, {PAPERS[paper]}, made {moment}"
    filename = f"{slugify(f'{version.show} {rank}')}-set-sheets.pdf"
    return lambda: keep_pdf(payload["key"], payload["group"], title, filename, content)
