"""Named covers as a table, in the columns that come in."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.lineup.models import Cover
from roster.people.models import Season
from roster.people.wording import who


def _covers(season: Season) -> tuple[Sequence[str], Rows]:
    covers = Cover.objects.filter(spot__rank__season=season)
    covers = covers.select_related("spot__rank", "member__person").order_by(
        "spot__rank__order", "spot__rank__label", "spot__number", "order"
    )
    return ("spot", "order", "member"), [(c.spot.label, c.order, who(c.member)) for c in covers]


add_export(Export("covers", "Covers", _covers, 8))
