"""Drafts: made by the solver or by hand, checked either way, never lost to a second editor."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.keys import key
from drill.events.models import Event, Segment
from drill.lineup import queries
from drill.lineup.core import exchanges
from drill.lineup.core.changes import MemberChange, member_changes, seats_of
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
    """A draft after an edit by hand: who changed as asked (nobody where it was so already), and
    the seats that had to be emptied because their members cannot march."""

    lineup: Lineup
    changes: tuple[MemberChange, ...] = ()
    emptied: tuple[Seat, ...] = ()


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
            raise Overtaken("Something changed since this proposal was made: look at the new one.")
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
    seen_number: int | None = None,
) -> Edited:
    """Put a member on a spot of the draft, or nobody; the spot they leave becomes a hole, and who
    stood there stands nowhere. Where it is so already nothing is changed.

    ``seen_number`` is the revision that was looked at where there was no draft.
    """
    wanted, who = (key(segment.pk), key(spot.pk)), key(member.pk) if member else None
    with recorded(actor, "place by hand"):
        Event.objects.select_for_update().get(pk=event.pk)
        shown = queries.draft(event) or queries.published(event)
        if shown is not None:
            now = seats_of(placements_of(shown))
            if wanted in now and not exchanges.put(now, wanted, who):
                return Edited(shown)
        draft = locked_draft(actor, event, seen_number)
        refuse_stale(draft, seen_version)
        before = seats_of(placements_of(draft))
        return _edit(draft, before, exchanges.put(before, wanted, who))


def swap_by_hand(
    *,
    actor: User,
    event: Event,
    seen_version: int,
    segments: Collection[Segment],
    first: Member,
    second: Member,
    seen_number: int | None = None,
) -> Edited:
    """Two members of the draft change places in these segments; where only one of them stands,
    the other takes that spot. ``seen_number`` as in ``place_by_hand``."""
    with recorded(actor, "swap by hand"):
        draft = locked_draft(actor, event, seen_number)
        refuse_stale(draft, seen_version)
        before = seats_of(placements_of(draft))
        where = {key(segment.pk) for segment in segments}
        seats = exchanges.swap(before, key(first.pk), key(second.pk), where)
        if not seats:
            raise Refused(f"{first} and {second} have nothing to swap.")
        return _edit(draft, before, seats)


def _edit(draft: Lineup, before: dict[Seat, str | None], seats: dict[Seat, str | None]) -> Edited:
    """The draft saved with other members on these seats; Refused where that breaks a rule, or
    where their segment is over."""
    built = build(draft.event)
    _refuse_over(built, seats)
    gone = [m for m in seats.values() if m and m not in built.members]
    if gone:
        member = Member.objects.select_related("person").get(pk=int(gone[0]))
        raise Refused(f"{member} is not active this season.")
    rows = {(p.segment, p.spot): p for p in built.still(placements_of(draft))}
    rows |= {seat: Placement(*seat, member, Origin.HOLE) for seat, member in seats.items()}
    settled, emptied = settle(built, rows.values(), keep=seats)
    broken = violations(built.to_come, settled)
    if broken:
        raise Refused("This cannot be saved:", tuple(say(built, v) for v in broken))
    write_rows(draft, built, settled, {}, by_hand=True)
    sign_by_hand(draft, built, settled)
    return Edited(draft, member_changes(before, {**before, **seats}), emptied)


def _refuse_over(built: Built, seats: Iterable[Seat]) -> None:
    over = {segment: built.segments[segment] for segment, _ in seats if segment in built.over}
    if over:
        names = " and ".join(str(segment) for segment in over.values())
        raise Refused(f"{names}: this is over and stays as it was marched.")


def start_by_hand(*, actor: User, event: Event) -> Lineup:
    """A draft without the solver: everybody who may march their place stands there, the rest is
    for hands to fill. Replaces the present draft."""
    with recorded(actor, "start by hand"):
        Event.objects.select_for_update().get(pk=event.pk)
        draft = queries.draft(event) or Lineup(event=event, created_by=actor, version=0)
        draft.save()
        built = build(event)
        placements = [
            Placement(*seat, member, Origin.HOLDS) for seat, member in built.to_come.reference
        ]
        placements += [
            Placement(p.segment, p.spot, p.member, Origin.PINNED) for p in built.to_come.pins
        ]
        settled, _ = settle(built, without_clashes(placements))
        write_rows(draft, built, settled, {}, by_hand=True)
        sign_by_hand(draft, built, settled)
    return draft
