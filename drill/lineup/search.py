"""Who marches where in the search, for members: published lineups only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from bandops.lib.finding.finders import finds
from bandops.lib.finding.finding import Entry
from drill.events.wording import found_event
from drill.lineup import queries
from drill.lineup.models import Lineup
from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.ranks.models import Spot


@finds()
def published(viewer: Viewer) -> Iterator[Entry]:
    """Events with a lineup, and who marches where in the one that members go by now."""
    if viewer.is_staff or viewer.member is None:
        return
    newest = queries.latest_numbers(viewer.this_season).select_related("event")
    newest = newest.prefetch_related("event__segments")
    lineups = list(newest.order_by("event__date", "pk"))
    for lineup in lineups:
        yield found_event(lineup.event, "card-of")
    if lineups:
        yield from _marching(_current(lineups))


def _current(lineups: list[Lineup]) -> Lineup:
    """Of the next event that has one, else of the last."""
    return next((lineup for lineup in lineups if not lineup.event.is_over()), lineups[-1])


def _marching(lineup: Lineup) -> Iterator[Entry]:
    spots: dict[Spot, list[Member]] = defaultdict(list)
    members: dict[Member, list[Spot]] = defaultdict(list)
    for row in queries.rows(lineup).filter(member__isnull=False):
        if row.member is not None:
            spots[row.spot].append(row.member)
            members[row.member].append(row.spot)
    for member, marched in members.items():
        note = f"{_listed(marched)}, {_listed(spot.rank for spot in marched)}: {lineup.event}"
        yield Entry("Members", member.name, member.pk, "", note)
    for spot, marching in spots.items():
        names = _listed(marching)
        note, words = f"{names}: {lineup.event}", f"{names} {spot.part}"
        yield Entry("Spots", spot.label, spot.pk, words, note, code=True)


def _listed(things: Iterable[object]) -> str:
    return ", ".join(dict.fromkeys(str(thing) for thing in things))
