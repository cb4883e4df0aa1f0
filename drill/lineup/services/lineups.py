"""Drafts: made by the solver or by hand, checked either way, never lost to a second editor."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.keys import key
from drill.events.models import Event, Segment
from drill.lineup import queries
from drill.lineup.core import problem as core
from drill.lineup.core.changes import seat_changes, seats_of
from drill.lineup.core.check import Rule, Violation, level_values, violations
from drill.lineup.core.problem import Level, Origin, Placement, Seat
from drill.lineup.core.solver import Lineup as Answer
from drill.lineup.core.solver import Stage
from drill.lineup.core.solver.certificate import certify
from drill.lineup.models import Lineup, LineupRow
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of, propose, reasons
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
        draft = _locked_draft(actor, event)
        _refuse_stale(draft, seen_version)
        built = build(event)
        if digest and built.problem_hash != digest:
            raise Overtaken("The data changed since this proposal was made: look at the new one.")
        answer = propose(built).answer
        write_rows(draft, built, answer.placements, reasons(built, answer), by_hand=False)
        _sign(draft, built, answer)
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
        draft = _locked_draft(actor, event)
        _refuse_stale(draft, seen_version)
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


def open_draft(*, actor: User, event: Event) -> Lineup:
    """The event's draft; a new one copies the last revision, or is the solver's first answer."""
    existing = queries.draft(event)
    if existing is not None:
        return existing
    with recorded(actor, "open draft"):
        Event.objects.select_for_update().get(pk=event.pk)
        return queries.draft(event) or _new_draft(actor, event)


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
        settled, _ = settle(built, _without_clashes(placements))
        write_rows(draft, built, settled, {}, by_hand=True)
        sign_by_hand(draft, built, settled)
    return draft


def _without_clashes(placements: list[Placement]) -> list[Placement]:
    """One row a seat and one seat a member: later rows (the pins) win."""
    seats: dict[Seat, Placement] = {}
    people: dict[tuple[str, str | None], Seat] = {}
    for placed in placements:
        seat, who = (placed.segment, placed.spot), (placed.segment, placed.member)
        for old in (people.get(who), seat):
            gone = seats.pop(old, None) if old else None
            if gone is not None:
                people.pop((gone.segment, gone.member), None)
        seats[seat], people[who] = placed, seat
    return list(seats.values())


def settle(
    built: Built, placements: Iterable[Placement], keep: Seat | None = None
) -> tuple[tuple[Placement, ...], tuple[Seat, ...]]:
    """The placements without rows that became impossible, and the seats that were emptied.

    Seats that came or went with the roster are added or dropped. The seat ``keep`` is left for
    the checker to judge.
    """
    problem = built.problem
    rows = {(p.segment, p.spot): p for p in placements}
    seats = [(g.key, s) for g in problem.segments for s in g.spots]
    full = [rows.get(seat) or Placement(*seat, None, Origin.HOLE) for seat in seats]
    full = [originate(problem, p) for p in full]
    bad = {
        (v.segment, v.spot)
        for v in violations(problem, full)
        if v.rule in (Rule.MAY_NOT_MARCH, Rule.UNKNOWN) and (v.segment, v.spot) != keep
    }
    done = [
        originate(problem, Placement(p.segment, p.spot, None, p.origin))
        if (p.segment, p.spot) in bad
        else p
        for p in full
    ]
    return tuple(done), tuple(sorted(bad))


def say(built: Built, violation: Violation) -> str:
    """A broken rule in words."""
    spot, member = built.spots.get(violation.spot), built.members.get(violation.member)
    segment = built.segments.get(violation.segment)
    where = " ".join(str(x) for x in (segment, spot) if x)
    at_home = violation.member in built.at_home
    why_not = "not on the travel list" if at_home else violation.detail
    words = {
        Rule.MAY_NOT_MARCH: f"{member} may not march it ({why_not})",
        Rule.PIN: f"{member} is pinned there; lift the pin first",
        Rule.STOCK: "more of the school's instruments are needed than there are",
        Rule.TRAVEL: f"more people than may travel ({violation.detail})",
        Rule.TWICE_MEMBER: f"{member} stands in two spots",
        Rule.UNKNOWN: "somebody in it is no longer an active member",
    }
    return f"{where}: {words.get(violation.rule, violation.rule.value)}"


def originate(problem: core.LineupProblem, placed: Placement) -> Placement:
    """The placement with the origin that fits it."""
    seat = (placed.segment, placed.spot)
    if placed.member is None:
        origin = Origin.LEFT_OPEN if seat in problem.left_open else Origin.HOLE
    elif any((p.segment, p.spot) == seat for p in problem.pins):
        origin = Origin.PINNED
    else:
        held = any(m.key == placed.member and m.holds == placed.spot for m in problem.members)
        origin = Origin.HOLDS if held else Origin.STANDS_IN
    return Placement(*seat, placed.member, origin)


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


def _locked_draft(actor: User, event: Event) -> Lineup:
    """The draft with the event's row locked, so that edits follow one another."""
    Event.objects.select_for_update().get(pk=event.pk)
    return queries.draft(event) or _new_draft(actor, event)


def _new_draft(actor: User, event: Event) -> Lineup:
    built = build(event)
    last = queries.published(event)
    draft = Lineup(event=event, created_by=actor, version=0)
    if last is not None:
        draft.stage, draft.levels = last.stage, last.levels
        draft.certificate = last.certificate
        draft.problem_hash, draft.facts_hash = last.problem_hash, last.facts_hash
        draft.version = 1
        draft.save()
        copy_rows(last, draft)
        return draft
    draft.save()
    answer = propose(built).answer
    write_rows(draft, built, answer.placements, reasons(built, answer), by_hand=False)
    _sign(draft, built, answer)
    draft.save()
    return draft


def copy_rows(source: Lineup, target: Lineup) -> None:
    rows = list(source.rows.all())
    for row in rows:
        row.pk, row.lineup, row.changed_in = None, target, 1
    LineupRow.objects.bulk_create(rows)


def _refuse_stale(draft: Lineup, seen_version: int) -> None:
    """The second of two editors is told what the first changed; nothing is overwritten."""
    if draft.version == seen_version:
        return
    changed = queries.rows(draft).filter(changed_in__gt=seen_version)
    details = tuple(f"{r.segment} {r.spot}: now {r.member or r.origin}" for r in changed[:30])
    raise Overtaken(
        "Somebody else changed this lineup meanwhile. Look again, then repeat.", details
    )


def write_rows(
    draft: Lineup,
    built: Built,
    placements: tuple[Placement, ...],
    why: dict[Seat, dict[str, object]],
    *,
    by_hand: bool,
) -> None:
    """Bring the draft's rows to the placements, touching only rows that differ."""
    draft.version += 1
    now = {(key(r.segment_id), key(r.spot_id)): r for r in draft.rows.all()}
    wanted = {(p.segment, p.spot): p for p in placements}
    draft.rows.filter(pk__in=[r.pk for seat, r in now.items() if seat not in wanted]).delete()
    fresh, changed, emptied = [], [], []
    for seat, placed in wanted.items():
        row = now.get(seat)
        values = _row_values(built, placed, why.get(seat), row)
        if row is None:
            fresh.append(_new_row(draft, built, seat, values, by_hand))
        elif any(getattr(row, name) != value for name, value in values.items()):
            if row.member_id not in (None, values["member_id"]):
                emptied.append(row.pk)
            if row.member_id != values["member_id"]:
                row.changed_in, row.by_hand = draft.version, by_hand
            for name, value in values.items():
                setattr(row, name, value)
            changed.append(row)
    # A member has one seat a segment: who moves leaves first, then sits down.
    draft.rows.filter(pk__in=emptied).update(member=None, origin=Origin.HOLE)
    LineupRow.objects.bulk_update(
        changed, ["member", "origin", "doubtful", "reason", "changed_in", "by_hand"]
    )
    LineupRow.objects.bulk_create(fresh)


def _row_values(
    built: Built, placed: Placement, why: dict[str, object] | None, row: LineupRow | None
) -> dict[str, object]:
    member = built.members[placed.member] if placed.member else None
    same = row is not None and row.member_id == (member.pk if member else None)
    return {
        "member_id": member.pk if member else None,
        "origin": placed.origin.value,
        "doubtful": bool(placed.member) and built.is_doubtful(placed.member or "", placed.segment),
        "reason": why if why is not None else row.reason if same and row else {},
    }


def _new_row(
    draft: Lineup, built: Built, seat: Seat, values: dict[str, object], by_hand: bool
) -> LineupRow:
    return LineupRow(
        lineup=draft,
        segment=built.segments[seat[0]],
        spot=built.spots[seat[1]],
        changed_in=draft.version,
        by_hand=by_hand,
        **values,
    )


def _sign(draft: Lineup, built: Built, answer: Answer) -> None:
    """Store how the answer was found and its proof, checked once more without a solver."""
    certified = certify(built.problem, answer)
    draft.stage = answer.stage.value
    draft.levels = [[r.level.name, r.value, r.bound, r.proven] for r in answer.levels]
    draft.certificate = asdict(answer.certificate) if certified and answer.certificate else None
    draft.problem_hash, draft.facts_hash = built.problem_hash, built.facts_hash


def sign_by_hand(draft: Lineup, built: Built, placements: tuple[Placement, ...]) -> None:
    """Store the levels of placements that no solver chose: nothing is proven of them."""
    values = level_values(built.problem, placements)
    draft.stage = Stage.BY_HAND
    draft.certificate = None
    draft.levels = [[level.name, values[level], None, False] for level in Level]
    draft.problem_hash, draft.facts_hash = built.problem_hash, built.facts_hash
    draft.save()


def draft_changes(draft: Lineup, last: Lineup | None) -> int:
    """How many seats differ from the last published revision."""
    if last is None:
        return 0
    return len(seat_changes(seats_of(placements_of(last)), seats_of(placements_of(draft))))


def is_stale(lineup: Lineup, built: Built) -> bool:
    """True when the data changed since the lineup was made."""
    return lineup.facts_hash != built.facts_hash
