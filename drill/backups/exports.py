"""Named backups as a table, in the columns that come in."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.lineup.models import Backup
from roster.people.models import Season
from roster.people.wording import who


def _backups(season: Season) -> tuple[Sequence[str], Rows]:
    backups = Backup.objects.filter(spot__rank__season=season)
    backups = backups.select_related("spot__rank", "member__person").order_by(
        "spot__rank__order", "spot__rank__label", "spot__number", "order"
    )
    return ("spot", "order", "member"), [(c.spot.label, c.order, who(c.member)) for c in backups]


add_export(Export("backups", "Backups", _backups, 8))
