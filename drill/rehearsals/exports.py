"""What was practised as a table."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.rehearsals.services.practice import sets_practised
from drill.shows.models import Show
from roster.people.models import Member, Season
from roster.people.wording import who
from roster.ranks import queries as rank_queries


def _practice(season: Season) -> tuple[Sequence[str], Rows]:
    """What was told and what the practice log knows together, in the versions in use."""
    members = {m.pk: m for m in Member.objects.filter(season=season).select_related("person")}
    spots = {spot.pk: spot.label for spot in rank_queries.spots(season)}
    shows = dict(Show.objects.filter(season=season).values_list("pk", "name"))
    return ("member", "spot", "show", "sets practiced"), [
        (who(members[member]), spots[spot], shows[show], sets)
        for (member, spot, show), sets in sorted(sets_practised(season).items())
    ]


add_export(Export("practice", "Practice", _practice, 9))
