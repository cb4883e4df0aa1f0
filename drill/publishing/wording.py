"""What notices tell."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from drill.field.core.spoken import USUAL, Style
from drill.field.wording import steps_text
from drill.lineup.core.changes import Change
from drill.lineup.wording import Names, change_sentence


def distance_text(distance: float | Sequence[Any] | None, style: Style = USUAL) -> str:
    """How far a dot moved in a set: 'moves by 2.5 steps', 'is new'."""
    if distance is None:
        return "is new"
    if isinstance(distance, Sequence):
        follows, counts = distance
        return f"comes straight from set {follows}, in {counts} counts"
    return f"moves by {steps_text(distance, style)}"


def notice_sentences(content: Mapping[str, Any], names: Names) -> list[str]:
    """What a notice tells its member: their own changes first, then backups, then the rank."""
    told = {
        Change.STEPS_IN: "you march {after}",
        Change.MOVES: "you move from {before} to {after}",
        Change.STEPS_OUT: "you do not march (was {before})",
    }
    lines = [
        f"{names.segment(segment)}: "
        + told[Change(change)].format(before=names.spot(before), after=names.spot(after))
        for segment, change, before, after in content.get("changes", [])
    ]
    lines += _no_longer_lines(content.get("no_longer", []), names, "", "You")
    lines += [
        f"{names.segment(segment)}: stand by in uniform; {spot_words(spot, member, names)}"
        for segment, spot, member in content.get("stand_by", [])
    ]
    lines += _set_lines(content.get("sets", []), names, "your dot {spot}")
    lines += _set_lines(content.get("backups", []), names, "{spot}, where you are a backup,")
    lines += [
        f"{names.segment(segment)}: {names.member(member)} "
        + change_sentence(change, before, after, names)
        for segment, member, change, before, after in content.get("rank", [])
    ]
    for segment, member, *rest in content.get("rank_no_longer", []):
        lines += _no_longer_lines([[segment, *rest]], names, f" {names.member(member)}", "They")
    lines += _set_lines(content.get("rank_sets", []), names, "{spot}")
    return lines + _set_lines(content.get("counts", []), names, "it")


def _no_longer_lines(rows: Iterable[Sequence[Any]], names: Names, who: str, they: str) -> list[str]:
    """'No longer: Pregame, Halftime 1-3. You stay at 4-7', the segments of one change together."""
    segments: dict[tuple[Any, ...], list[str]] = {}
    for segment, spots, now, is_back in rows:
        segments.setdefault((tuple(spots), now, is_back), []).append(names.segment(segment))
    lines = []
    for (spots, now, is_back), where in segments.items():
        stays = f"{they} stay at {names.spot(now)}" if now else f"{they} do not march"
        told = f"{', '.join(where)} {' and '.join(map(names.spot, spots))}{who}"
        if not spots:
            lines.append(f"{', '.join(where)}{who}: {stays[0].lower()}{stays[1:]} after all")
        else:
            lines.append(f"No longer: {told}" + (f". {stays}" if is_back else ""))
    return lines


def spot_words(spot: str, member: str | None, names: Names) -> str:
    """'Ida Voss marches 1-3', '1-3 stays open'."""
    marches = f"{names.member(member)} marches {names.spot(spot)}" if member else ""
    return marches or f"{names.spot(spot)} stays open"


def _set_lines(moves: Iterable[Sequence[Any]], names: Names, what: str) -> list[str]:
    return [
        f"{names.segment(segment)}, set {label}: "
        f"{what.format(spot=names.spot(spot))} {distance_text(distance, names.style)}"
        for segment, spot, label, distance in moves
    ]
