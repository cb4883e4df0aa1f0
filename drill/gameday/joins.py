"""What the game day adds to the record of a performance."""

from __future__ import annotations

from typing import Any

from drill.events.models import Event
from drill.gameday.models import DayChange
from drill.gameday.wording import day_change_sentences
from drill.lineup.wording import Names
from drill.record.ties import CHANGES_OF_THE_DAY


@CHANGES_OF_THE_DAY.join
def changes_after_the_call(event: Event) -> list[tuple[Any, list[str]]]:
    """Changes from the desk after the call (the whole day where no call is set), in words."""
    start = event.called_at or event.day_starts_at
    rows = DayChange.objects.filter(event=event, made_at__gte=start)
    names = Names(event.season_id)
    return [
        (change, day_change_sentences(change.seats, names))
        for change in rows.select_related("made_by", "undone_by").order_by("made_at")
    ]
