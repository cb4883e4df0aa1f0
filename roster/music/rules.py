"""Who hears whose music."""

from __future__ import annotations

from roster.music.models import SectionLeader
from roster.people.models import Instrument
from roster.people.viewer import Viewer


def sections_of(viewer: Viewer) -> list[int] | None:
    """Ids of the instruments whose music the viewer hears; None: all of them."""
    if viewer.is_staff or viewer.is_evaluator:
        return None
    if viewer.member is None:
        return []
    rows = SectionLeader.objects.filter(member=viewer.member, member__season=viewer.season)
    return list(rows.values_list("instrument_id", flat=True))


def hears_some(viewer: Viewer) -> bool:
    """Staff, evaluators and section leaders."""
    return viewer.user is not None and sections_of(viewer) != []


def hears(viewer: Viewer, instrument: Instrument) -> bool:
    """Whether they hear an instrument."""
    sections = sections_of(viewer)
    return sections is None or instrument.pk in sections
