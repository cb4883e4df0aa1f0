"""The practice log: who worked on which spot."""

from __future__ import annotations

import datetime
import uuid

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.events import queries as event_queries
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.rehearsals import queries
from drill.rehearsals.models import PracticeEntry
from drill.rehearsals.services.practised import WorkKey, practised
from drill.rehearsals.services.rehearsals import keep_once, noted_moment
from drill.shows.models import DrillSet, Show
from drill.shows.queries import dots_of
from roster.people.models import Member, Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Holding, Spot


def log_practice(
    *,
    actor: User,
    event: Event,
    member: Member,
    spot: Spot,
    show: Show,
    first_set: int | None,
    last_set: int | None,
    key: uuid.UUID,
    noted_at: datetime.datetime | None,
) -> PracticeEntry:
    """A member worked on a spot, from one set to another (ids; None for the first and the last).

    The same entry sent twice is kept once; with other sets it is another one.
    """
    if event.kind != EventKind.REHEARSAL:
        raise Refused(f"{event} is not a rehearsal.")
    moment = noted_moment(event, noted_at)
    sets = _span(show, first_set, last_set)
    _refuse_needless(event, member, spot)
    told = {"event": event, "member": member, "spot": spot, "show": show, "noted_by": actor}
    with recorded(actor, "log practice"):
        Member.objects.select_for_update().get(pk=member.pk)
        own_key = uuid.uuid5(key, f"{sets[0].pk} {sets[-1].pk}")
        entry = keep_once(PracticeEntry, key=own_key, told=told, noted_at=moment)
        entry.sets.set(sets)
    return entry


def take_back(*, actor: User, entry: PracticeEntry) -> None:
    """The entry was a mistake; the audit keeps it."""
    with recorded(actor, "take practice back"):
        PracticeEntry.objects.filter(pk=entry.pk).delete()


def _span(show: Show, first: int | None, last: int | None) -> list[DrillSet]:
    """The sets from one to another; of the version they were chosen from, though another may be
    in use by now."""
    chosen = {pk for pk in (first, last) if pk is not None}
    ends = list(DrillSet.objects.filter(pk__in=chosen, version__show=show))
    if len(ends) < len(chosen) or len({one.version_id for one in ends}) > 1:
        raise Refused(f"{show} no longer has that set: choose again.")
    sets = sets_of({show.pk}).get(show.pk, [])
    if ends:
        sets = list(DrillSet.objects.filter(version=ends[0].version_id).order_by("order"))
    if not sets:
        raise Refused(f"{show} has no sets yet: import its coordinates first.")
    index = {one.pk: n for n, one in enumerate(sets)}
    start, end = index.get(first or 0, 0), index.get(last or 0, len(sets) - 1)
    if end < start:
        raise Refused("The last set comes before the first.")
    return sets[start : end + 1]


def _refuse_needless(event: Event, member: Member, spot: Spot) -> None:
    if not member.qualifications.filter(part=spot.part_id).exists():
        raise Refused(f"{member} does not play {spot.part}, which {spot} needs.")
    own = Holding.objects.filter(rank_queries.holdings_on(event.date), member=member, spot=spot)
    if own.exists():
        raise Refused(f"{member} holds {spot}: the log is for other people's spots.")


def sets_of(show_ids: set[int]) -> dict[int, list[DrillSet]]:
    """Show id -> the sets of its version in use, in order."""
    versions = event_queries.current_versions(show_ids)
    found: dict[int, list[DrillSet]] = {show: [] for show in versions}
    shows = {version.pk: show for show, version in versions.items()}
    for row in DrillSet.objects.filter(version__in=list(shows)).order_by("order"):
        found[shows[row.version_id]].append(row)
    return found


def sets_practised(season: Season) -> dict[WorkKey, int]:
    """How many sets of the shows' versions in use members have practised, the log and what was
    told together; what was told of shows without a version too."""
    told = {(x.member_id, x.spot_id, x.show_id): x.sets for x in queries.practice(season)}
    shows = set(Show.objects.filter(season=season).values_list("pk", flat=True))
    versions = event_queries.current_versions(shows)
    spots = list(rank_queries.spots(season))
    found = practised(season, versions, {show: dots_of(show, spots) for show in versions})
    logged = {key: len(sets) for key, sets in found.items() if sets}
    return told | {key: max(told.get(key, 0), sets) for key, sets in logged.items()}
