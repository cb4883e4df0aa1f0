"""Drafts: made by the solver or by hand, checked either way, never lost to a second editor."""

from __future__ import annotations

from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.keys import key
from drill.events.models import Event, Segment
from drill.lineup import queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.check import violations
from drill.lineup.core.problem import Origin, Placement, Seat
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import locked_draft, refuse_stale, sign, sign_by_hand, write_rows
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of, propose, reasons
from drill.lineup.services.settling import say, settle, without_clashes
from roster.people.models import Member
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Edited:
    """A saved draft, the seats that had to be emptied because their members cannot march, and who
    lost the seat and now stands nowhere in the segment."""

    lineup: Lineup
    emptied: tuple[Seat, ...] = ()
    displaced: Member | None = None


def take_proposal(*, actor: User, event: Event, seen_version: int, digest: str = "") -> Lineup:
    """Save the solver's lineup as the draft.

    ``digest`` is the problem's hash that the proposal was shown for; Overtaken when the facts or
    the draft changed meanwhile.
    """
    with recorded(actor, "take proposal"):
        draft = locked_draft(actor, event)
        refuse_stale(draft, seen_version)
        built = build(event)
        if digest and built.problem_hash != digest:
            raise Overtaken("The data changed since this proposal was made: look at the new one.")
        answer = propose(built).answer
        write_rows(draft, built, answer.placements, reasons(built, answer), by_hand=False)
        sign(draft, built, answer)
        draft.save()
    return draft


def place_by_hand(
    *,
    actor: User,
    event: Event,
    seen_version: int,
    segment: Segment,
    spot: Spot,
    member: Member | None,
) -> Edited:
    """Put a member on a spot of the draft, or nobody; the spot they leave becomes a hole."""
    with recorded(actor, "place by hand"):
        draft = locked_draft(actor, event)
        refuse_stale(draft, seen_version)
        built = build(event)
        wanted = (key(segment.pk), key(spot.pk))
        before = seats_of(placements_of(draft)).get(wanted)
        placements = _moved(built, placements_of(draft), wanted, member)
        settled, emptied = settle(built, placements, keep=wanted)
        broken = violations(built.problem, settled)
        if broken:
            raise Refused("This cannot be saved:", tuple(say(built, v) for v in broken))
        write_rows(draft, built, settled, {}, by_hand=True)
        sign_by_hand(draft, built, settled)
    stands = {p.member for p in settled if p.segment == wanted[0]}
    displaced = built.members.get(before) if before and before not in stands else None
    return Edited(draft, emptied, displaced)


def start_by_hand(*, actor: User, event: Event) -> Lineup:
    """A draft without the solver: everybody who may march their place stands there, the rest is
    for hands to fill. Replaces the present draft."""
    with recorded(actor, "start by hand"):
        Event.objects.select_for_update().get(pk=event.pk)
        draft = queries.draft(event) or Lineup(event=event, created_by=actor, version=0)
        draft.save()
        built = build(event)
        placements = [
            Placement(*seat, member, Origin.HOLDS) for seat, member in built.problem.reference
        ]
        placements += [
            Placement(p.segment, p.spot, p.member, Origin.PINNED) for p in built.problem.pins
        ]
        settled, _ = settle(built, without_clashes(placements))
        write_rows(draft, built, settled, {}, by_hand=True)
        sign_by_hand(draft, built, settled)
    return draft


def _moved(
    built: Built, placements: tuple[Placement, ...], seat: Seat, member: Member | None
) -> list[Placement]:
    who = key(member.pk) if member else None
    if who is not None and who not in built.members:
        raise Refused(f"{member} is not active this season.")
    out = [
        Placement(p.segment, p.spot, None, Origin.HOLE)
        if p.segment == seat[0] and p.member == who and who is not None
        else p
        for p in placements
        if (p.segment, p.spot) != seat
    ]
    return [*out, Placement(*seat, who, Origin.HOLE)]
