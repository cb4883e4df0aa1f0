"""A published lineup mended at once: a new revision that changes some seats and nothing else."""

from __future__ import annotations

from collections.abc import Mapping

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.check import Rule, Violation, violations
from drill.lineup.core.problem import Origin, Placement, Seat
from drill.lineup.core.solver import Stage
from drill.lineup.models import Lineup, LineupRow
from drill.lineup.services.drafts import copy_rows, sign_by_hand, write_rows
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of
from drill.lineup.services.settling import originate, say
from drill.publishing.services.publishing import publish_draft


def revise(
    *,
    actor: User,
    event: Event,
    built: Built,
    seats: Mapping[Seat, str | None],
    why: Mapping[Seat, dict[str, object]] | None = None,
    reason: str = "",
) -> Lineup:
    """Publish the newest revision with other members on these seats. ``why`` is kept as the
    seats' reasons; after the cut-off the revision needs a ``reason`` of its own.

    What staff have in the draft is kept, with the same seats changed where they agreed with the
    last revision. Refused where a seat's new member may not march it, or a rule breaks that was
    kept before; what was wrong elsewhere stays as it was, for its own decision. After the cut-off
    it needs a ``reason``. Segments that are over stay as they are.
    """
    with recorded(actor, "revise lineup"):
        Event.objects.select_for_update().get(pk=event.pk)
        last = lineup_queries.published(event)
        if last is None:
            raise Refused("Nothing is published for this event yet.")
        seats = _to_come(built, seats)
        before = placements_of(last)
        after = changed(built, before, seats)
        _refuse_former(built, seats)
        faults = new_faults(built, before, after)
        if faults:
            raise Refused("This won't work:", tuple(say(built, v) for v in faults))
        draft = lineup_queries.draft(event)
        kept = _set_aside(draft, last)
        draft = draft or Lineup(event=event, created_by=actor, version=0)
        draft.save()
        draft.rows.all().delete()
        copy_rows(last, draft)
        write_rows(draft, built, after, dict(why or {}), by_hand=True)
        sign_by_hand(draft, built, _without_former(built, after))
        publish_draft(actor, draft, built, (last.number or 0) + 1, reason)
        if kept:
            _put_back(actor, event, built, kept, seats, seats_of(before))
    return draft


def go_back(*, actor: User, event: Event, to: Lineup, reason: str = "") -> Lineup:
    """Publish an earlier revision's places again, as a new revision."""
    with recorded(actor, "go back to a revision"):
        Event.objects.select_for_update().get(pk=event.pk)
        last = lineup_queries.published(event)
        if last is None or last.pk == to.pk:
            raise Refused("This is the current revision.")
        now, then = seats_of(placements_of(last)), seats_of(placements_of(to))
        built = build(event)
        there = {s: m for s, m in then.items() if s in now and s[0] not in built.over}
        seats = {s: m for s, m in there.items() if now[s] != m}
        if not seats:
            raise Refused("Nothing is different from the current revision.")
        return revise(actor=actor, event=event, built=built, seats=seats, reason=reason)


def amend_draft(
    *,
    draft: Lineup,
    built: Built,
    seats: Mapping[Seat, str | None],
    why: Mapping[Seat, dict[str, object]],
) -> None:
    """Other members on these seats of a draft, inside an action; the rest stays."""
    placements = changed(built, placements_of(draft), seats)
    write_rows(draft, built, placements, dict(why), by_hand=True)
    sign_by_hand(draft, built, _without_former(built, placements))


def changed(
    built: Built, before: tuple[Placement, ...], seats: Mapping[Seat, str | None]
) -> tuple[Placement, ...]:
    """The placements with the seats changed; who steps in leaves where they stood."""
    arriving = {(segment, member) for (segment, _), member in seats.items() if member}
    out = []
    for placed in before:
        seat = (placed.segment, placed.spot)
        if seat in seats:
            member = seats[seat]
        elif (placed.segment, placed.member) in arriving:
            member = None
        else:
            out.append(placed)
            continue
        out.append(originate(built.problem, Placement(*seat, member, Origin.HOLE)))
    return tuple(out)


def _to_come(built: Built, seats: Mapping[Seat, str | None]) -> Mapping[Seat, str | None]:
    """The seats without those of segments that are over; Refused where none is left."""
    left = {seat: member for seat, member in seats.items() if seat[0] not in built.over}
    if seats and not left:
        raise Refused("This is over and stays as it was marched.")
    return left


def _refuse_former(built: Built, seats: Mapping[Seat, str | None]) -> None:
    """Nobody who left is placed again; where they stand already, they wait for a decision."""
    gone = [(seat, m) for seat, m in seats.items() if m is not None and m not in built.members]
    if gone:
        faults = (Violation(Rule.UNKNOWN, *seat, member) for seat, member in gone)
        raise Refused("This won't work:", tuple(say(built, fault) for fault in faults))


def new_faults(
    built: Built, before: tuple[Placement, ...], after: tuple[Placement, ...]
) -> list[Violation]:
    """The rules that are broken now and were kept before."""
    # Of seats with a former member the checker would see nothing else any more.
    known = {_fault(v) for v in violations(built.problem, _without_former(built, before))}
    now = violations(built.problem, _without_former(built, after))
    return [v for v in now if _fault(v) not in known]


def _without_former(built: Built, placements: tuple[Placement, ...]) -> tuple[Placement, ...]:
    """The placements with holes for whoever is no longer active, and without former spots."""
    seats = {(g.key, s) for g in built.problem.segments for s in g.spots}
    return tuple(
        p
        if p.member is None or p.member in built.members
        else originate(built.problem, Placement(p.segment, p.spot, None, Origin.HOLE))
        for p in placements
        if (p.segment, p.spot) in seats
    )


def _fault(violation: Violation) -> tuple[object, ...]:
    return (violation.rule, violation.segment, violation.spot, violation.member)


def _set_aside(draft: Lineup | None, last: Lineup) -> list[LineupRow]:
    """The draft's rows when they say something else than the last revision."""
    if draft is None or seats_of(placements_of(draft)) == seats_of(placements_of(last)):
        return []
    return list(draft.rows.all())


def _put_back(
    actor: User,
    event: Event,
    built: Built,
    kept: list[LineupRow],
    seats: Mapping[Seat, str | None],
    before: Mapping[Seat, str | None],
) -> None:
    """The draft as it was, following the change where it agreed with the last revision."""
    version = max(row.changed_in for row in kept) + 1
    draft = Lineup.objects.create(
        event=event, created_by=actor, version=version, stage=Stage.BY_HAND
    )
    for row in kept:
        row.pk, row.lineup = None, draft
    LineupRow.objects.bulk_create(kept)
    now = seats_of(placements_of(draft))
    follow = {
        seat: member
        for seat, member in seats.items()
        if seat in now and now[seat] == before.get(seat)
    }
    placements = changed(built, placements_of(draft), follow)
    write_rows(draft, built, placements, {}, by_hand=True)
    sign_by_hand(draft, built, _without_former(built, placements))
