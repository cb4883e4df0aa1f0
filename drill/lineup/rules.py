"""Who may do what with lineups; pages and API ask the same functions."""

from __future__ import annotations

import datetime

from django.utils import timezone

from bandops.lib.accounts.viewer import Viewer as AnyViewer
from bandops.lib.web.rules import knows_names
from drill.events.models import Event
from roster.people.viewer import Viewer


def reads_lineups(viewer: AnyViewer) -> bool:
    """Published lineups: staff, equipment managers and members; evaluators know numbers only."""
    return knows_names(viewer)


def past_cut_off(event: Event, now: datetime.datetime | None = None) -> bool:
    """True when only the director changes the event's lineup."""
    return event.cut_off is not None and (now or timezone.now()) > event.cut_off


def may_edit_lineup(viewer: Viewer, event: Event) -> bool:
    """Staff until the cut-off, the director always."""
    return viewer.is_director or (viewer.is_staff and not past_cut_off(event))
