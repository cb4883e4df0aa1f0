"""The marching record: confirming what happened, and correcting it line by line."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import moment_words
from bandops.lib.errors import Overtaken, Refused
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.record.core.record import Outcome
from drill.record.enums import RecordOutcome
from drill.record.models import MarchingRecord, RecordEntry
from drill.record.services.record_lines import exceptions
from drill.record.services.record_sheet import Cell, Choice, Sheet, sheet
from roster.ranks.models import Spot


def confirm_record(
    *,
    actor: User,
    event: Event,
    seen_lineup: int,
    chosen: Mapping[Cell, Choice],
    today: datetime.date,
) -> MarchingRecord:
    """Write everybody's record from the newest revision, but what staff chose otherwise.

    ``seen_lineup`` is the revision they looked at. An event is confirmed once.
    """
    with recorded(actor, "confirm record"):
        Event.objects.select_for_update().get(pk=event.pk)
        record = MarchingRecord.objects.filter(event=event).select_related("confirmed_by").first()
        if record is not None:
            raise Refused(f"The record of {event} is already confirmed{_by(record)}.")
        if event.kind == EventKind.REHEARSAL or event.date > today:
            raise Refused(f"{event} is not a past performance.")
        lineup = lineup_queries.published(event)
        if lineup is None:
            raise Refused(f"No lineup of {event} was published.")
        if lineup.pk != seen_lineup:
            raise Overtaken(f"Revision {lineup.number} was just published: look again.")
        it = sheet(event, lineup)
        entries = dict(it.guesses) | exceptions(it, chosen)
        _refuse_shared(it, entries)
        record = MarchingRecord.objects.create(event=event, lineup=lineup, confirmed_by=actor)
        RecordEntry.objects.bulk_create(
            _entry(record, it, cell, entries[cell]) for cell in sorted(entries)
        )
    return record


def _by(record: MarchingRecord) -> str:
    when = moment_words(record.confirmed_at, record.event.zone)
    return f" by {record.confirmed_by}, {when}" if record.confirmed_by else f", {when}"


def _entry(record: MarchingRecord, it: Sheet, cell: Cell, choice: Choice) -> RecordEntry:
    """Whoever was placed and did not come keeps the spot they were placed at."""
    placed = it.placed.get(cell)
    missed = placed.pk if placed and choice.outcome is Outcome.MISSED else None
    spot = choice.spot or missed
    return RecordEntry(
        record=record,
        segment_id=cell[0],
        member_id=cell[1],
        outcome=choice.outcome,
        first_outcome=choice.outcome,
        spot_id=spot,
        first_spot_id=spot,
    )


def _refuse_shared(it: Sheet, entries: Mapping[Cell, Choice]) -> None:
    """One person marched a spot."""
    stood: dict[tuple[int, int], int] = {}
    twice = []
    for (segment, member), choice in entries.items():
        if choice.outcome is Outcome.MARCHED and choice.spot is not None:
            other = stood.setdefault((segment, choice.spot), member)
            if other != member:
                twice.append((segment, choice.spot, other, member))
    if not twice:
        return
    spots = Spot.objects.filter(rank__season=it.event.season_id).select_related("rank")
    labels = {s.pk: s.label for s in spots}
    names = {s.pk: s.name for s in it.segments}
    details = tuple(
        f"{names[g]} {labels[s]}: {it.members[a]} and {it.members[b]}" for g, s, a, b in twice
    )
    raise Refused("Two people can't have marched the same spot. Say what one of them did:", details)


def correct_entry(
    *, actor: User, entry: RecordEntry, outcome: RecordOutcome, spot: Spot | None, note: str
) -> RecordEntry:
    """Change one line after it was confirmed, with the reason; the first entry stays beside it."""
    with recorded(actor, "correct record"):
        MarchingRecord.objects.select_for_update().get(pk=entry.record_id)
        entry = RecordEntry.objects.select_related("segment", "member__person").get(pk=entry.pk)
        if not note.strip():
            raise Refused("Say why you are correcting it.")
        if outcome == RecordOutcome.MARCHED and spot is None:
            raise Refused("Which spot did they march?")
        if outcome not in (RecordOutcome.MARCHED, RecordOutcome.MISSED):
            spot = None
        if (entry.outcome, entry.spot_id) == (outcome, spot.pk if spot else None):
            raise Refused("The record already says that.")
        if outcome == RecordOutcome.MARCHED:
            _refuse_taken(entry, spot)
        entry.outcome, entry.spot, entry.note = outcome, spot, note.strip()
        entry.corrected_by, entry.corrected_at = actor, timezone.now()
        entry.save()
    return entry


def _refuse_taken(entry: RecordEntry, spot: Spot | None) -> None:
    others = RecordEntry.objects.filter(
        segment=entry.segment, spot=spot, outcome=RecordOutcome.MARCHED
    )
    other = others.exclude(pk=entry.pk).select_related("member__person").first()
    if other is not None:
        raise Refused(
            f"{other.member} is in the record for {spot} in {entry.segment}: correct that first."
        )
