"""The turn book: confirming what happened, and correcting it line by line."""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from django.utils import timezone
from django.utils.dateformat import format as say

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.record.core.turns import Outcome
from drill.record.enums import TurnOutcome
from drill.record.models import Turn, TurnBook
from drill.record.services.turn_lines import exceptions
from drill.record.services.turn_sheet import Cell, Choice, Sheet, sheet
from roster.ranks.models import Spot


def confirm_turns(
    *,
    actor: User,
    event: Event,
    seen_lineup: int,
    chosen: Mapping[Cell, Choice],
    today: datetime.date,
) -> TurnBook:
    """Write everybody's turns from the newest revision, but what staff chose otherwise.

    ``seen_lineup`` is the revision they looked at. An event is confirmed once.
    """
    with recorded(actor, "confirm turns"):
        Event.objects.select_for_update().get(pk=event.pk)
        book = TurnBook.objects.filter(event=event).select_related("confirmed_by").first()
        if book is not None:
            raise Refused(f"The turns of {event} are confirmed already{_by(book)}.")
        if event.kind == EventKind.REHEARSAL or event.date > today:
            raise Refused(f"{event} is no past performance.")
        lineup = lineup_queries.published(event)
        if lineup is None:
            raise Refused(f"No lineup of {event} was published.")
        if lineup.pk != seen_lineup:
            raise Overtaken(f"Revision {lineup.number} was published meanwhile: look again.")
        it = sheet(event, lineup)
        turns = dict(it.guesses) | exceptions(it, chosen)
        _refuse_shared(it, turns)
        book = TurnBook.objects.create(event=event, lineup=lineup, confirmed_by=actor)
        Turn.objects.bulk_create(_turn(book, it, cell, turns[cell]) for cell in sorted(turns))
    return book


def _by(book: TurnBook) -> str:
    when = say(book.confirmed_at.astimezone(book.event.zone), "D j M, g:i A")
    return f" by {book.confirmed_by}, {when}" if book.confirmed_by else f", {when}"


def _turn(book: TurnBook, it: Sheet, cell: Cell, choice: Choice) -> Turn:
    """Whoever was placed and did not come keeps the spot they were placed at."""
    placed = it.placed.get(cell)
    missed = placed.pk if placed and choice.outcome is Outcome.MISSED else None
    spot = choice.spot or missed
    return Turn(
        book=book,
        segment_id=cell[0],
        member_id=cell[1],
        outcome=choice.outcome,
        first_outcome=choice.outcome,
        spot_id=spot,
        first_spot_id=spot,
    )


def _refuse_shared(it: Sheet, turns: Mapping[Cell, Choice]) -> None:
    """One person marched a spot."""
    stood: dict[tuple[int, int], int] = {}
    twice = []
    for (segment, member), choice in turns.items():
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
    raise Refused("Two people cannot have marched one spot. Say what one of them did:", details)


def correct_turn(
    *, actor: User, turn: Turn, outcome: TurnOutcome, spot: Spot | None, note: str
) -> Turn:
    """Change one line after it was confirmed, with the reason; the first entry stays beside it."""
    with recorded(actor, "correct turn"):
        TurnBook.objects.select_for_update().get(pk=turn.book_id)
        turn = Turn.objects.select_related("segment", "member__person").get(pk=turn.pk)
        if not note.strip():
            raise Refused("Say why it is corrected.")
        if outcome == TurnOutcome.MARCHED and spot is None:
            raise Refused("Which spot did they march?")
        if outcome not in (TurnOutcome.MARCHED, TurnOutcome.MISSED):
            spot = None
        if (turn.outcome, turn.spot_id) == (outcome, spot.pk if spot else None):
            raise Refused("That is what the book says already.")
        if outcome == TurnOutcome.MARCHED:
            _refuse_taken(turn, spot)
        turn.outcome, turn.spot, turn.note = outcome, spot, note.strip()
        turn.corrected_by, turn.corrected_at = actor, timezone.now()
        turn.save()
    return turn


def _refuse_taken(turn: Turn, spot: Spot | None) -> None:
    others = Turn.objects.filter(segment=turn.segment, spot=spot, outcome=TurnOutcome.MARCHED)
    other = others.exclude(pk=turn.pk).select_related("member__person").first()
    if other is not None:
        raise Refused(
            f"{other.member} is in the book for {spot} in {turn.segment}: correct that first."
        )
