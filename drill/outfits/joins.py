"""What outfits add to events."""

from __future__ import annotations

from typing import Any

from drill.events.models import Event
from drill.events.ties import COPIED, EVENT_PAGE
from drill.outfits.models import Worn
from drill.outfits.services.setting import copy_worn


@COPIED.join
def worn_too(old: Event, new: Event) -> None:
    """The copy asks for the same uniform."""
    copy_worn(old, new)


@EVENT_PAGE.join
def worn_words(event: Event) -> dict[str, Any]:
    """The kinds that the event asks for."""
    return {"worn": [w.kind for w in Worn.objects.filter(event=event).select_related("kind")]}
