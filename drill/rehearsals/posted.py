"""The rehearsal that a page's address names, and whose ranks the reader notes."""

from __future__ import annotations

from django.shortcuts import get_object_or_404

from bandops.lib.web import forms as lib_forms
from bandops.lib.web.pages import allow
from drill.events.models import Event
from drill.rehearsals import queries
from drill.rehearsals.rules import may_note
from roster.people.viewer import Viewer
from roster.ranks.models import Rank
from roster.ranks.queries import ranks_led

MENU = "rehearsals"


def rehearsal_of(viewer: Viewer, pk: int) -> Event:
    """The season's rehearsal of that number, with its season; 404 for anything else."""
    event = get_object_or_404(queries.rehearsals(viewer.this_season), pk=pk)
    event.season = viewer.this_season
    return event


def menu_of(viewer: Viewer) -> str:
    """Where the pages for staff and rank leaders belong."""
    return MENU if viewer.is_staff else "my-rank"


def ranks_for(viewer: Viewer, asked: str) -> list[Rank]:
    """The rank that was asked for, else the viewer's own; none for staff who lead none.

    What names no rank of the season asks for none.
    """
    rank_id = lib_forms.whole_number(asked)
    rank = Rank.objects.filter(pk=rank_id or 0, season=viewer.this_season).first()
    if rank is not None:
        allow(may_note(viewer, rank.pk))
        return [rank]
    return [] if viewer.is_staff else ranks_led(viewer)
