"""Posted travel lists as a table."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.events.enums import TravelState
from drill.events.models import Traveller
from roster.people.models import Season
from roster.people.wording import who


def _travel(season: Season) -> tuple[Sequence[str], Rows]:
    posted = Traveller.objects.filter(list__event__season=season, list__state=TravelState.POSTED)
    posted = posted.select_related("list__event", "member__person").order_by(
        "list__event__date", "list_id", "member__person__sort_key"
    )
    return ("event", "date", "member", "name", "role"), [
        (t.list.event.name, t.list.event.date, who(t.member), t.member.name, t.role) for t in posted
    ]


add_export(Export("travel", "Posted travel lists", _travel, 11))
