"""Sentences about who steps in and what a change of the day did."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from bandops.lib.dates import clock_words, hour_words
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.field.core.spoken import USUAL, Style
from drill.field.wording import farthest_words
from drill.gameday.core.fills import Asked, Choice
from drill.gameday.enums import ClashState
from drill.gameday.models import Clash
from drill.lineup.core.problem import Seat
from drill.lineup.wording import Names, rung_text
from roster.people.models import Member


def asked_words(asked: Asked, style: Style = USUAL) -> str:
    """'ready, 15 of 24 sets to learn, farthest 9 steps at set 17', 'ready, knows all 24 sets'."""
    if not asked.total:
        return "ready"
    if not asked.new:
        return f"ready, knows all {asked.total} sets"
    words = f"ready, {asked.new} of {asked.total} sets to learn"
    if asked.new == asked.total:
        words = f"must learn all {asked.total} sets"
    far = asked.farthest
    return words + (farthest_words(far.largest, far.largest_set, style) if far else "")


def choice_words(choice: Choice, names: Names) -> str:
    """What a choice at the desk means: 'first backup, ready, 15 of 24 sets to learn'."""
    rung = rung_text({"backup": choice.order, "standing": choice.standing, "pool": names.pool})
    if not choice.is_chain:
        return f"{rung}, {asked_words(choice.asked[0], names.style)}"
    steps = []
    asked = {one.member: one for one in choice.asked}
    for move in choice.moves:
        words = f"{names.member(move.member)} to {names.spot(move.spot)}"
        if move.before:
            words += f" from {names.spot(move.before)}"
        words += f" ({asked_words(asked[move.member], names.style)})"
        steps.append(words)
    return f"{choice.people} people move: {'; '.join(dict.fromkeys(steps))}"


def day_change_sentences(seats: Iterable[Sequence[Any]], names: Names) -> list[str]:
    """What a change of the day did, seat by seat: 'Halftime 1-3: Ida Voss instead of nobody'."""
    return [
        f"{names.segment(str(segment))} {names.spot(str(spot))}: "
        f"{names.member(_key(after))} instead of {names.member(_key(before))}"
        for segment, spot, before, after in seats
    ]


def change_words(out: Member | None, seats: Sequence[Sequence[Any]], names: Names) -> str:
    """A change of the day in a few words, by who is ``out`` where somebody is: 'Cai Ørnberg out,
    Jon Pell steps in', 'Ana Núñez and Bo Larkspur swap'."""
    before = dict.fromkeys(row[2] for row in seats if row[2])
    after = dict.fromkeys(row[3] for row in seats if row[3])
    if out:
        return f"{out} out, {_stepping_in(out.pk, seats, names)}"
    if len(before) == 2 and before.keys() == after.keys():
        return f"{' and '.join(names.member(str(pk)) for pk in before)} swap"
    return "; ".join(day_change_sentences(seats, names))


def _stepping_in(out: int, seats: Sequence[Sequence[Any]], names: Names) -> str:
    """Who takes the spots of whoever is out, and what becomes of those that they leave for it:
    'Jon Pell steps in', 'Bo Larkspur moves to 1-3, Jon Pell steps in at 1-2'."""
    taking = dict.fromkeys((row[3], row[1]) for row in seats if row[2] == out and row[3])
    left = {row[2]: row for row in seats if row[2] and row[2] != out}
    words = []
    for member, spot in taking:
        who = names.member(str(member))
        if member not in left:
            words.append(f"{who} steps in")
            continue
        _, own, _, then = left[member]
        at = names.spot(str(own))
        words.append(f"{who} moves to {names.spot(str(spot))}")
        words.append(f"{names.member(str(then))} steps in at {at}" if then else f"{at} is open")
    return ", ".join(words) or "nobody steps in"


def absence_words(entry: Absence) -> str:
    """What an entry says for staff, besides out or doubtful: 'late until 2:30 PM, class or exam';
    never a chance."""
    words = "limited" if entry.kind == AbsenceKind.LIMITED else ""
    time = entry.late_until or entry.leaves_at
    if time is not None:
        event = entry.event
        at = hour_words(event.local(time), event.zone) if event else clock_words(time)
        words = f"{entry.get_kind_display()} {at}"
    reason = entry.get_category_display() if entry.category else ""
    return ", ".join(filter(None, (words, reason)))


def seat_words(seat: Seat, names: Names) -> str:
    """'Halftime 1-3'."""
    return f"{names.segment(seat[0])} {names.spot(seat[1])}"


def seats_words(seats: Iterable[Seat], names: Names) -> str:
    """Seats by spot: '1-3 (Pregame, Halftime), 2-2 (Parade)'."""
    segments: dict[str, list[str]] = {}
    for segment, spot in seats:
        segments.setdefault(spot, []).append(names.segment(segment))
    return ", ".join(f"{names.spot(s)} ({', '.join(where)})" for s, where in segments.items())


def row_seats_words(rows: Iterable[Sequence[Any]], names: Names) -> str:
    """As ``seats_words``, of rows that start with the ids of segment and spot."""
    return seats_words(((str(segment), str(spot)) for segment, spot, *_ in rows), names)


def wanted_words(clash: Clash) -> str:
    """What whoever sent the wish wanted: 'wanted Jon Pell at 1-3 for Cai Ørnberg'."""
    what = f"{clash.wanted} at {clash.spot}" if clash.wanted else f"{clash.spot} left open"
    if clash.mover:
        what = f"{clash.mover} to move to {clash.spot} and {clash.wanted} to step in"
    whom = f" for {clash.member_out}" if clash.member_out and not clash.is_away else ""
    return f"wanted {what}{whom}"


def _key(pk: object) -> str | None:
    return str(pk) if pk else None


def decided_words(clash: Clash) -> str:
    """Of a card that was decided."""
    if clash.leaves and clash.state == ClashState.KEPT and clash.standing is None:
        return f"{clash.wanted} stays where they march; {clash.spot} stays open."
    member = clash.chosen if clash.state == ClashState.CHANGED else clash.standing
    if member is None:
        return f"{clash.spot} stays open."
    if member == clash.member_out:
        return f"{clash.spot}: {member} is out. Fill it at the desk."
    left = " The spot they left is open: fill it at the desk." if _opened(clash) else ""
    return f"{clash.spot}: {member} marches.{left}"


def _opened(clash: Clash) -> bool:
    return bool(clash.leaves) and clash.state == ClashState.CHANGED
