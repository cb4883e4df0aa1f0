"""What stands at the foot of prints."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.urls import reverse

from bandops.lib.dates import dated_words, stamp_words
from bandops.lib.pdf.render import code_image
from drill.lineup.models import Lineup


def stamp(lineup: Lineup) -> dict[str, Any]:
    """Event, revision and time on every page, with the code that says whether it is current."""
    event = lineup.event
    assert lineup.published_at is not None
    moment = lineup.published_at.astimezone(event.zone)
    url = f"{settings.SITE_URL}{reverse('code', args=[lineup.code])}"
    revision = f"Rev {lineup.number}, {stamp_words(moment)}"
    return {
        "code": code_image(url),
        "address": url,
        "stamp": f"{event}, {dated_words(event.date)}",
        "stamp_detail": f"{revision} · scan to see if it is current",
    }
