"""What lineups add to events, to shows, to the history and to the search."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.ties import KEPT_BATCHES, LOCKED_BATCHES, REMARKS
from bandops.lib.errors import Refused
from drill.events.models import Event
from drill.events.ties import BEFORE_REMOVAL, EVENT_LIST, EVENT_PAGE
from drill.lineup import queries
from drill.lineup.core.problem import Origin
from drill.lineup.enums import LineupState
from drill.lineup.models import Block, Lineup, LineupRow, OpenSeat, Pin
from drill.lineup.rules import may_edit_lineup
from drill.rehearsals.ties import PLACED, Placed
from drill.shows.ties import PUBLISHED, SHOWN_AT, Occasion
from roster.people.models import Member, Season
from roster.people.queries import merged_members
from roster.people.ties import MERGE_HINDRANCES, MERGE_SETTLES
from roster.people.viewer import Viewer
from roster.ranks.models import Spot

OF_EVENTS = [model._meta.db_table for model in (Lineup, Pin, Block, OpenSeat)]
"""tables of an event's lineup: after the cut-off they are the director's"""


@PUBLISHED.join
def published_versions(season_id: int) -> set[int]:
    """Ids of the versions that published lineups were made for."""
    lineups = Lineup.objects.filter(event__season=season_id, state=LineupState.PUBLISHED)
    return {pk for kept in lineups.values_list("show_versions", flat=True) for pk in kept.values()}


@SHOWN_AT.join
def events_shown(season: Season) -> dict[int, list[Occasion]]:
    """Version id -> the events, in order, whose newest published lineup was made for it: what
    members' cards show."""
    found: dict[int, list[Occasion]] = defaultdict(list)
    newest = queries.latest_numbers(season).select_related("event")
    for lineup in newest.order_by("event__date", "event_id"):
        for pk in lineup.show_versions.values():
            found[pk].append(Occasion(str(lineup.event), lineup.event.date))
    return found


@EVENT_PAGE.join
def lineups_of(event: Event) -> dict[str, Any]:
    """The newest published lineup, and the draft where nothing is published."""
    published = queries.published(event)
    return {"published": published, "draft": None if published else queries.draft(event)}


@EVENT_LIST.join
def numbers(season: Season) -> dict[int, Any]:
    """Event id -> the newest published lineup."""
    return {lineup.event_id: lineup for lineup in queries.latest_numbers(season)}


@PLACED.join
def placed_at(event: Event) -> dict[int, Placed]:
    """Member id -> the spots of the newest published lineup, under the rank of the first."""
    lineup = queries.published(event)
    if lineup is None:
        return {}
    meant = merged_members(event.season)
    rows = queries.rows(lineup).filter(member__isnull=False)
    spots: dict[int, list[Spot]] = defaultdict(list)
    for row in rows:
        who = row.member_id or 0
        spots[meant.get(who, who)].append(row.spot)
    return {
        pk: Placed(mine[0].rank_id, ", ".join(dict.fromkeys(s.label for s in mine)))
        for pk, mine in spots.items()
    }


@BEFORE_REMOVAL.join
def remove_drafts(event: Event) -> bool:
    """Keep an event for which something was published; True when a draft goes with it."""
    if queries.published(event) is not None:
        raise Refused(f"{event} has a published lineup, so it stays.")
    drafts, _ = Lineup.objects.filter(event=event).delete()
    return bool(drafts)


@KEPT_BATCHES.join
def publications(batches: Iterable[str]) -> set[str]:
    """The batches in which a lineup was published."""
    entries = AuditEntry.objects.filter(batch__in=list(batches), table=Lineup._meta.db_table)
    return set(entries.filter(after__state=LineupState.PUBLISHED).values_list("batch", flat=True))


@REMARKS.join
def override_reasons(batches: Iterable[str]) -> dict[str, str]:
    """Why lineups were published after the cut-off."""
    entries = AuditEntry.objects.filter(batch__in=list(batches), table=Lineup._meta.db_table)
    published = entries.filter(after__state=LineupState.PUBLISHED)
    rows = published.values_list("batch", "after")
    said = ((batch, (row or {}).get("override_reason")) for batch, row in rows)
    return {batch: f"after the cut-off: “{reason}”" for batch, reason in said if reason}


@LOCKED_BATCHES.join
def locked(viewer: Viewer, batches: Iterable[str]) -> set[str]:
    """The batches that changed a lineup which the viewer may not change any more."""
    if viewer.is_director:
        return set()
    found: dict[int, set[str]] = defaultdict(set)
    entries = AuditEntry.objects.filter(batch__in=list(batches), table__in=OF_EVENTS)
    for batch, before, after in entries.values_list("batch", "before", "after"):
        found[int((after or before or {}).get("event_id") or 0)].add(batch)
    events = Event.objects.filter(pk__in=found)
    return set().union(*(found[e.pk] for e in events if not may_edit_lineup(viewer, e)))


@MERGE_HINDRANCES.join
def published_to_come(stays: Member, goes: Member) -> list[str]:
    """Whoever stands in what is published for an event to come is the one who stays."""
    newest = queries.latest_numbers(goes.season).filter(event__date__gte=goes.season.today())
    rows = LineupRow.objects.filter(lineup__in=list(newest), member__in=[stays, goes])
    spots: dict[Lineup, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
    for row in rows.select_related("lineup__event", "spot__rank"):
        spots[row.lineup][row.member_id or 0].add(str(row.spot))
    said = []
    for lineup, of in spots.items():
        if goes.pk in of:
            where = f"revision {lineup.number} of {lineup.event} ({', '.join(sorted(of[goes.pk]))})"
            advice = (
                f"and so is {stays}: publish a revision without one of them first"
                if stays.pk in of
                else "so keep that entry and merge the other into it"
            )
            said.append(f"{goes} is in {where}, {advice}.")
    return said


@MERGE_SETTLES.join
def drafts_of_both(actor: User, stays: Member, goes: Member) -> list[str]:
    """In drafts the one who stays takes the other's spots; where both stand in a segment, the
    other's is an open spot."""
    notes = []
    for lineup in (
        Lineup.objects.filter(state=LineupState.DRAFT, rows__member=goes)
        .select_related("event")
        .distinct()
    ):
        lineup.version += 1
        taken = lineup.rows.filter(member=stays).values_list("segment_id", flat=True)
        theirs, values = lineup.rows.filter(member=goes), {"changed_in": lineup.version}
        opened = theirs.filter(segment__in=list(taken)).update(
            member=None, origin=Origin.HOLE, doubtful=False, reason={"code": "left"}, **values
        )
        lineup.rows.filter(member=goes).update(member=stays, **values)
        lineup.certificate = None
        lineup.save()
        word = "spot is" if opened == 1 else "spots are"
        notes.append(f"The draft for {lineup.event} takes it up; {opened} {word} open now.")
    return notes
