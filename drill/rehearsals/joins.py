"""What rehearsals add to events and absences: their blocks, and attendance."""

from __future__ import annotations

from typing import Any

from drill.absences.core.availability import Slot
from drill.absences.ties import BLOCK_SLOTS
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.events.services.events import show_in
from drill.events.ties import COPIED, EVENT_PAGE
from drill.rehearsals.forms import BlockForm


@EVENT_PAGE.join
def blocks_of(event: Event) -> dict[str, Any]:
    """A rehearsal's blocks and the form for another, with the parts of the page that show them; at
    a performance the way to its attendance."""
    if event.kind != EventKind.REHEARSAL:
        return {"links_part": "rehearsals/performance.html"}
    return {
        "links_part": "rehearsals/links.html",
        "own_part": "rehearsals/blocks.html",
        "blocks": event.blocks.select_related("show"),
        "block_form": BlockForm(event, auto_id="block_%s"),
    }


@COPIED.join
def copy_blocks(event: Event, fresh: Event) -> None:
    """The copy has the same blocks."""
    for block in list(event.blocks.select_related("show")):
        block.pk, block.event = None, fresh
        block.show = show_in(fresh.season, block.show)
        block._state.adding = True
        block.save()


@BLOCK_SLOTS.join
def slots_of_blocks(event: Event) -> list[Slot]:
    """A rehearsal's blocks, which a member can miss one by one."""
    # Entries never name a block, so a key that no segment has keeps them apart.
    return [Slot(-b.pk, event.pk, event.date, b.starts, b.ends) for b in event.blocks.all()]
