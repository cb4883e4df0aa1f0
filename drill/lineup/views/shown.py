"""The lineup that a page shows, or why there is none."""

from __future__ import annotations

from typing import Any

from bandops.lib.errors import Refused
from drill.events.models import Event
from drill.lineup import queries
from drill.lineup.core.solver import ContradictoryPins, NoLineup, OutOfWork
from drill.lineup.core.solver.result import PinFault
from drill.lineup.models import Lineup
from drill.lineup.rules import may_edit_lineup
from drill.lineup.wording import Names
from roster.people.viewer import Viewer

FAULTS = {
    PinFault.CANNOT_MARCH: "{member} is pinned to {spot} in {segment} but cannot march it",
    PinFault.TWO_MEMBERS: "two members are pinned to {spot} in {segment}",
    PinFault.TWO_SEATS: "{member} is pinned twice in {segment}",
    PinFault.LEFT_OPEN: "{spot} in {segment} is left open and has a pin",
    PinFault.STOCK: "the pins in {segment} need more instruments than there are",
    PinFault.DRESS: "{member} is pinned, and no spare piece is left for them to wear",
    PinFault.TRAVEL: "the pins and must-travel people exceed the limit",
}


class NotMade(Refused, NoLineup):
    """Nobody made the event's lineup yet: looking at it makes none."""


def shown_lineup(viewer: Viewer, event: Event) -> Lineup:
    """The draft, else the last revision; NotMade where there is neither."""
    shown = queries.draft(event) or queries.published(event)
    if shown is not None:
        return shown
    if not may_edit_lineup(viewer, event):
        raise Refused("The cut-off has passed: only the director makes this lineup now.")
    raise NotMade(f"No lineup for {event} yet: make it first.")


def no_lineup_context(event: Event, error: Exception) -> dict[str, Any]:
    """Why there is no lineup, in words."""
    if isinstance(error, NotMade):
        return {"event": event, "not_made": True, "orders": queries.orders(event)}
    names = Names(event.season_id)
    faults = []
    if isinstance(error, ContradictoryPins):
        for fault in error.faults:
            text = FAULTS[fault.code]
            faults.append(
                text.format(
                    member=names.member(fault.member or None),
                    spot=names.spot(fault.spot or None),
                    segment=names.segment(fault.segment or None),
                )
            )
    elif isinstance(error, OutOfWork):
        faults.append("The solver gave up before it found a lineup. Place by hand.")
    else:
        faults.append(
            "No lineup can keep every rule: check the travel limit and the must-travel people."
        )
    return {"event": event, "faults": faults, "orders": queries.orders(event)}
