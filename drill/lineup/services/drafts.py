"""The draft of an event's lineup: opened, written, signed."""

from __future__ import annotations

from dataclasses import asdict

from django.db.models import QuerySet

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken
from bandops.lib.keys import key
from drill.events.models import Event
from drill.lineup import queries
from drill.lineup.core.changes import seat_changes, seats_of
from drill.lineup.core.level_values import level_values
from drill.lineup.core.problem import Level, Origin, Placement, Seat
from drill.lineup.core.solver import Lineup as Answer
from drill.lineup.core.solver import Stage
from drill.lineup.core.solver.certificate import certify
from drill.lineup.models import Lineup, LineupRow
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of, propose, reasons

SEATED = ("segment_id", "spot_id", "member_id", "origin")
"""what a row says"""


def open_draft(*, actor: User, event: Event) -> Lineup:
    """The event's draft; a new one copies the last revision, or is the solver's first answer."""
    existing = queries.draft(event)
    if existing is not None:
        return existing
    with recorded(actor, "open draft"):
        Event.objects.select_for_update().get(pk=event.pk)
        return queries.draft(event) or _new_draft(actor, event)


def locked_draft(actor: User, event: Event, seen_number: int | None = None) -> Lineup:
    """The draft with the event's row locked, so that edits follow one another.

    ``seen_number`` is the revision that the editor looked at where there was no draft; Overtaken
    when another came out meanwhile.
    """
    Event.objects.select_for_update().get(pk=event.pk)
    last = queries.published(event)
    if seen_number is not None and last is not None and last.number != seen_number:
        raise Overtaken(f"Revision {last.number} was just published: look at it first.")
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
    sign(draft, built, answer)
    draft.save()
    return draft


def copy_rows(source: Lineup, target: Lineup) -> None:
    _copy(source.rows.all(), target)


def _copy(found: QuerySet[LineupRow], target: Lineup) -> None:
    rows = list(found)
    for row in rows:
        row.pk, row.lineup, row.changed_in = None, target, 1
    LineupRow.objects.bulk_create(rows)


def refuse_stale(draft: Lineup, seen_version: int) -> None:
    """The second of two editors is told what the first changed; nothing is overwritten."""
    if draft.version == seen_version:
        return
    changed = queries.rows(draft).filter(changed_in__gt=seen_version)
    details = tuple(f"{r.segment} {r.spot}: now {r.member or r.origin}" for r in changed[:30])
    raise Overtaken(
        "Somebody else just changed this lineup. Look again, then redo your change.", details
    )


def write_rows(
    draft: Lineup,
    built: Built,
    placements: tuple[Placement, ...],
    why: dict[Seat, dict[str, object]],
    *,
    by_hand: bool,
) -> None:
    """Bring the draft's rows to the placements, touching only rows that differ; what is over is
    as the last revision has it."""
    draft.version += 1
    keep_what_is_over(draft, built)
    rows = draft.rows.exclude(segment__in=[int(g) for g in built.over])
    now = {(key(r.segment_id), key(r.spot_id)): r for r in rows}
    wanted = {(p.segment, p.spot): p for p in built.still(placements)}
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


def keep_what_is_over(draft: Lineup, built: Built) -> None:
    """Segments that ended while the draft was open stand in it as they were marched."""
    last = queries.published(draft.event) if built.over else None
    if last is None:
        return
    over = [int(segment) for segment in built.over]
    now = draft.rows.filter(segment__in=over)
    marched = last.rows.filter(segment__in=over)
    if set(now.values_list(*SEATED)) == set(marched.values_list(*SEATED)):
        return
    now.delete()
    _copy(marched, draft)


def _row_values(
    built: Built, placed: Placement, why: dict[str, object] | None, row: LineupRow | None
) -> dict[str, object]:
    member_id = int(placed.member) if placed.member else None
    same = row is not None and row.member_id == member_id
    return {
        "member_id": member_id,
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


def sign(draft: Lineup, built: Built, answer: Answer) -> None:
    """Store how the answer was found and its proof, checked once more without a solver."""
    certified = certify(built.to_come, answer)
    draft.stage = answer.stage.value
    draft.levels = [[r.level.name, r.value, r.bound, r.proven] for r in answer.levels]
    draft.certificate = asdict(answer.certificate) if certified and answer.certificate else None
    draft.problem_hash, draft.facts_hash = built.problem_hash, built.facts_hash


def sign_by_hand(draft: Lineup, built: Built, placements: tuple[Placement, ...]) -> None:
    """Store the levels of placements that no solver chose: nothing is proven of them."""
    values = level_values(built.to_come, built.still(placements))
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
