"""Who may march a seat: the one statement of the rule for single pairs, with its reasons."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from drill.lineup.core.problem import (
    Block,
    Lack,
    LineupProblem,
    Member,
    Part,
    Seat,
    Skill,
    Spot,
)


class WhyNot(StrEnum):
    """Why a member cannot march a seat."""

    LEFT_OPEN = "left open"
    NOT_QUALIFIED = "not qualified"
    AWAY = "away"
    BLOCKED = "blocked"
    NEEDS_EXPERIENCE = "needs experience"
    NOT_DRESSED = "not dressed"


def block_applies(block: Block, segment: str, spot: str) -> bool:
    """True when the block keeps its member from this seat."""
    return block.segment in (None, segment) and block.spot in (None, spot)


@dataclass(frozen=True)
class Facts:
    """A problem's rows by key."""

    problem: LineupProblem

    @cached_property
    def members(self) -> dict[str, Member]:
        return {m.key: m for m in self.problem.members}

    @cached_property
    def spots(self) -> dict[str, Spot]:
        return {s.key: s for s in self.problem.spots}

    @cached_property
    def parts(self) -> dict[str, Part]:
        return {p.key: p for p in self.problem.parts}

    @cached_property
    def seats(self) -> frozenset[Seat]:
        return frozenset((g.key, s) for g in self.problem.segments for s in g.spots)

    @cached_property
    def blocks(self) -> dict[str, list[Block]]:
        found: dict[str, list[Block]] = {}
        for block in self.problem.blocks:
            found.setdefault(block.member, []).append(block)
        return found

    @cached_property
    def reference(self) -> dict[Seat, str]:
        return dict(self.problem.reference)

    @cached_property
    def backup_order(self) -> dict[tuple[str, str], int]:
        orders: dict[tuple[str, str], int] = {}
        for backup in self.problem.backups:
            pair = (backup.spot, backup.member)
            orders[pair] = min(backup.order, orders.get(pair, backup.order))
        return orders

    @cached_property
    def wears(self) -> dict[tuple[str, str], set[str]]:
        """(segment, part) -> kinds of pieces."""
        found: dict[tuple[str, str], set[str]] = {}
        for wear in self.problem.wears:
            found.setdefault((wear.segment, wear.part), set()).add(wear.kind)
        return found

    @cached_property
    def spares(self) -> dict[tuple[str, str], int]:
        """(kind, size) -> pieces in store."""
        found: dict[tuple[str, str], int] = {}
        for spare in self.problem.spares:
            key = spare.kind, spare.size
            found[key] = found.get(key, 0) + spare.count
        return found

    def lacking(self, member: Member, segment: str, spot: Spot) -> tuple[Lack, ...]:
        """What the member would need a spare piece for in the seat."""
        if not member.lacks:
            return ()
        worn = self.wears.get((segment, spot.part), set())
        return tuple(lack for lack in member.lacks if lack.kind in worn)

    def skill(self, member: Member, spot: Spot) -> Skill | None:
        """The qualification the member would march the spot with."""
        matching = [s for s in member.skills if s.part == spot.part]
        return max(matching, key=lambda s: s.own_instrument, default=None)

    def why_not(self, member: Member, segment: str, spot: Spot) -> tuple[WhyNot, ...]:
        """Every rule that keeps the member from the seat; empty when they may march it."""
        reasons = []
        if (segment, spot.key) in self.problem.left_open:
            reasons.append(WhyNot.LEFT_OPEN)
        if self.skill(member, spot) is None:
            reasons.append(WhyNot.NOT_QUALIFIED)
        if segment in member.away:
            reasons.append(WhyNot.AWAY)
        if any(
            block_applies(block, segment, spot.key) for block in self.blocks.get(member.key, ())
        ):
            reasons.append(WhyNot.BLOCKED)
        if spot.needs_experience and not member.experienced and member.holds != spot.key:
            reasons.append(WhyNot.NEEDS_EXPERIENCE)
        if any(self.hopeless(lack) for lack in self.lacking(member, segment, spot)):
            reasons.append(WhyNot.NOT_DRESSED)
        return tuple(reasons)

    def hopeless(self, lack: Lack) -> bool:
        """Whether no spare piece could be worn."""
        return not any(self.spares.get((lack.kind, size), 0) for size in lack.fits)

    def stock_kind(self, member: Member, spot: Spot) -> str | None:
        """The instrument kind the member would take from the school's stock for this spot."""
        skill = self.skill(member, spot)
        if skill is None or skill.own_instrument:
            return None
        return self.parts[spot.part].instrument
