"""The lineup as 0-1 columns, rows and eight objectives: what both reference solvers read.

Written from the definitions, apart from ``drill.core`` and from ``evaluate``, whose answers its
own must equal. Columns are the arcs (a member on a seat), then one column for each rank without
a leader, then one for each member whose trip is decided in several segments, then those that
count the stand-ins of spots in several segments.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from hashlib import sha256

from drill.lineup.core.problem import Level, LineupProblem, Member, Seat, Spot

Terms = dict[int, int]
"""column -> coefficient"""


@dataclass(frozen=True)
class Row:
    """low <= terms <= high; ``kind`` says which rule the row speaks for."""

    kind: str
    terms: Terms
    low: int | None = None
    high: int | None = None


@dataclass(frozen=True)
class Objective:
    """constant + terms, to be made small."""

    constant: int
    terms: Terms

    def value(self, chosen: Iterable[int]) -> int:
        """The objective where the chosen columns are 1."""
        return self.constant + sum(self.terms.get(column, 0) for column in chosen)

    def span(self) -> int:
        """No two answers differ by more than this."""
        return sum(abs(c) for c in self.terms.values())


@dataclass
class LinearForm:
    """The whole problem; ``possible`` is False where a pin or an empty row already cannot be."""

    arcs: list[tuple[str, str, str]] = field(default_factory=list)
    columns: int = 0
    rows: list[Row] = field(default_factory=list)
    objectives: dict[Level, Objective] = field(default_factory=dict)
    seats: int = 0
    possible: bool = True


class _Builder:
    def __init__(self, problem: LineupProblem) -> None:
        self.problem = problem
        self.form = LinearForm()
        self.spots: dict[str, Spot] = {s.key: s for s in problem.spots}
        self.members: dict[str, Member] = {m.key: m for m in problem.members}
        self.open: list[Seat] = [
            (g.key, s)
            for g in problem.segments
            for s in g.spots
            if (g.key, s) not in problem.left_open
        ]
        self.by_seat: dict[Seat, list[int]] = {seat: [] for seat in self.open}
        self.by_member: dict[tuple[str, str], list[int]] = defaultdict(list)
        self.column: dict[tuple[str, str, str], int] = {}
        self.home: dict[tuple[str, str], str] = {}
        for (segment, spot), member in problem.reference:
            known = member in self.members and segment not in self.members[member].away
            if known and (segment, spot) in self.by_seat:
                self.home[segment, member] = spot
        self.orders: dict[tuple[str, str], int] = {}
        for backup in sorted(problem.backups, key=lambda c: -c.order):
            self.orders[backup.spot, backup.member] = min(8, backup.order)
        self.lessons = {(m, s): cost for m, s, cost in problem.relearning}

    def build(self) -> LinearForm:
        self._arcs()
        self._choice_rows()
        self._pins()
        self._stock()
        self._dress()
        led = self._leaders()
        self._travel()
        self._max_moved()
        self._objectives(led, self._splits())
        self.form.seats = len(self.open)
        return self.form

    def _arcs(self) -> None:
        blocked = {(b.member, b.segment, b.spot) for b in self.problem.blocks}
        by_part: dict[str, list[Member]] = defaultdict(list)
        for member in self.problem.members:
            for part in {skill.part for skill in member.skills}:
                by_part[part].append(member)
        for segment, key in self.open:
            spot = self.spots[key]
            for member in by_part[spot.part]:
                new_here = not member.experienced and member.holds != key
                orders = {(member.key, g, s) for g in (None, segment) for s in (None, key)}
                if (
                    segment in member.away
                    or (spot.needs_experience and new_here)
                    or orders & blocked
                ):
                    continue
                self.column[segment, key, member.key] = len(self.form.arcs)
                self.by_seat[segment, key].append(len(self.form.arcs))
                self.by_member[segment, member.key].append(len(self.form.arcs))
                self.form.arcs.append((segment, key, member.key))
        self.form.columns = len(self.form.arcs)

    def _row(
        self, kind: str, terms: Terms, low: int | None = None, high: int | None = None
    ) -> None:
        if terms:
            self.form.rows.append(Row(kind, terms, low, high))
        elif (low or 0) > 0 or (high or 0) < 0:
            self.form.possible = False

    def _choice_rows(self) -> None:
        for columns in self.by_seat.values():
            self._row("seat", dict.fromkeys(columns, 1), high=1)
        for columns in self.by_member.values():
            self._row("member", dict.fromkeys(columns, 1), high=1)

    def _pins(self) -> None:
        for pin in self.problem.pins:
            column = self.column.get((pin.segment, pin.spot, pin.member))
            if column is None:
                self.form.possible = False
            else:
                self._row("pin", {column: 1}, low=1)

    def _stock(self) -> None:
        kinds = {part.key: part.instrument for part in self.problem.parts}
        limits = dict(self.problem.stock)
        borrows = {
            (m.key, s.part) for m in self.problem.members for s in m.skills if not s.own_instrument
        }
        used: dict[tuple[str, str], Terms] = defaultdict(dict)
        for column, (segment, spot, member) in enumerate(self.form.arcs):
            part = self.spots[spot].part
            if kinds.get(part) in limits and (member, part) in borrows:
                used[segment, kinds[part]][column] = 1
        for (_, kind), terms in used.items():
            self._row("stock", terms, high=limits[kind])

    def _dress(self) -> None:
        """Hall's condition for every set of sizes of every kind, with a column for each member
        who lacks it: 1 where they march a seat that asks for it."""
        wears = {(w.segment, w.part, w.kind) for w in self.problem.wears}
        there: dict[tuple[str, str], int] = defaultdict(int)
        for spare in self.problem.spares:
            there[spare.kind, spare.size] += spare.count
        marches: dict[tuple[str, str], int] = {}
        for member in self.problem.members:
            for lack in member.lacks:
                asked = [
                    column
                    for column, (segment, spot, who) in enumerate(self.form.arcs)
                    if who == member.key and (segment, self.spots[spot].part, lack.kind) in wears
                ]
                if asked:
                    marches[member.key, lack.kind] = self.form.columns
                for column in asked:
                    self._row("wears", {column: 1, self.form.columns: -1}, high=0)
                self.form.columns += bool(asked)
        fits = {(m.key, k.kind): set(k.fits) for m in self.problem.members for k in m.lacks}
        for kind in sorted({kind for _, kind in marches}):
            sizes = sorted({s for (_, k), of in fits.items() if k == kind for s in of})
            for chosen in range(1 << len(sizes)):
                some = {s for n, s in enumerate(sizes) if chosen >> n & 1}
                terms = {c: 1 for (m, k), c in marches.items() if k == kind and fits[m, k] <= some}
                self._row("spares", terms, high=sum(there[kind, s] for s in some))

    def _leaders(self) -> list[int]:
        """The columns that say "this rank stands without a leader"."""
        leaders = {r.key: set(r.leaders) for r in self.problem.ranks if r.leaders}
        rows: dict[tuple[str, str], Terms] = {}
        for segment, spot in self.open:
            rank = self.spots[spot].rank
            if rank in leaders:
                terms = rows.setdefault((segment, rank), {})
                for column in self.by_seat[segment, spot]:
                    if self.form.arcs[column][2] in leaders[rank]:
                        terms[column] = 1
        columns = []
        for terms in rows.values():
            columns.append(self.form.columns)
            self._row("leader", {**terms, self.form.columns: 1}, low=1)
            self.form.columns += 1
        return columns

    def _travel(self) -> None:
        if self.problem.travel_limit is None:
            return
        total: Terms = {}
        left = self.problem.travel_limit
        for member in self.problem.members:
            groups = [c for (_, m), c in self.by_member.items() if m == member.key]
            if member.must_travel:
                left -= 1
            elif len(groups) == 1:
                total |= dict.fromkeys(groups[0], 1)
            elif groups:
                total[self.form.columns] = 1
                for columns in groups:
                    self._row("goes", {**dict.fromkeys(columns, 1), self.form.columns: -1}, high=0)
                self.form.columns += 1
        self._row("travel", total, high=left)

    def _max_moved(self) -> None:
        if self.problem.max_moved is None:
            return
        stays: dict[str, Terms] = {segment.key: {} for segment in self.problem.segments}
        for (segment, member), spot in self.home.items():
            if (segment, spot, member) in self.column:
                stays[segment][self.column[segment, spot, member]] = 1
        for segment, terms in stays.items():
            could = sum(g == segment for g, _ in self.home)
            self._row("moved", terms, low=could - self.problem.max_moved)

    def _splits(self) -> Terms:
        """The columns that are 1 for a stand-in beyond a spot's first.

        A stand-in is 1 where they march the spot in any segment; of each spot one of those that
        are 1 is not counted.
        """
        found: Terms = {}
        of: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
        for column, (_, spot, member) in enumerate(self.form.arcs):
            if self.members[member].holds != spot:
                of[spot][member].append(column)
        for members in of.values():
            if len({self.form.arcs[c][0] for columns in members.values() for c in columns}) < 2:
                continue
            first: Terms = {}
            for columns in members.values():
                stands, is_first = self.form.columns, self.form.columns + 1
                self.form.columns += 2
                for column in columns:
                    self._row("stands", {column: 1, stands: -1}, high=0)
                self._row("first", {is_first: 1, stands: -1}, high=0)
                first[is_first] = 1
                found |= {stands: 1, is_first: -1}
            self._row("one first", first, high=1)
        return found

    def _objectives(self, led: list[int], splits: Terms) -> None:
        weigh = self.problem.settings.use_weights
        weight = {s.key: s.weight if weigh else 1 for s in self.problem.spots}
        costs = [self._arc_costs(*arc) for arc in self.form.arcs]
        holes = {c: -weight[spot] for c, (_, spot, _) in enumerate(self.form.arcs)}
        self.form.objectives = {
            Level.HOLES: Objective(sum(weight[spot] for _, spot in self.open), holes),
            Level.LEADERLESS: Objective(0, dict.fromkeys(led, 1)),
            Level.MOVED: Objective(2 * len(self.home), self._terms(costs, 0)),
            Level.SPLIT: Objective(0, splits),
            Level.STANDING: Objective(0, self._terms(costs, 1)),
            Level.RELEARNING: Objective(0, self._terms(costs, 2)),
            Level.FAIRNESS: Objective(0, self._terms(costs, 3)),
            Level.TIE: Objective(0, self._terms(costs, 4)),
        }

    @staticmethod
    def _terms(costs: list[tuple[int, ...]], which: int) -> Terms:
        return {column: cost[which] for column, cost in enumerate(costs) if cost[which]}

    def _arc_costs(self, segment: str, spot_key: str, member_key: str) -> tuple[int, ...]:
        """What one arc adds to level 3 and levels 5-8 (level 3 counts from "nobody is placed")."""
        member, spot = self.members[member_key], self.spots[spot_key]
        digest = sha256(f"{self.problem.settings.salt}|{member_key}|{spot_key}".encode())
        tie = int.from_bytes(digest.digest()[:3], "big") >> 4
        home = self.home.get((segment, member_key))
        moved = 0
        if home == spot_key:
            moved = -2
        elif home is not None and self.spots[home].rank != spot.rank:
            moved = 1
        if member.holds == spot_key:
            return (moved, 0, 0, 0, tie)
        place = 63 if member.standing is None else min(63, member.standing)
        swap = self.problem.settings.fairness_before_standing
        within, later = (member.marched_percent, place) if swap else (place, member.marched_percent)
        order = self.orders.get((spot_key, member_key))
        ranked = member.standing is not None
        by_rank = self.problem.settings.pool == "rank"
        own = member.standing_part == spot.part and (not by_rank or member.rank == spot.rank)
        if order is not None:
            standing = 128 * order
        else:
            standing = 128 * 9 + within if ranked and own else 128 * 10
        return (moved, standing, self.lessons.get((member_key, spot_key), 0), later, tie)


def linear_form(problem: LineupProblem) -> LinearForm:
    """The problem as columns, rows and objectives."""
    return _Builder(problem).build()


def blocks(form: LinearForm, largest: int) -> list[tuple[tuple[Level, ...], Objective]]:
    """Consecutive levels packed into single objectives whose coefficients stay <= ``largest``.

    A block's minimum is the lexicographic minimum of its levels: each level weighs more than the
    whole span of those after it.
    """
    packed: list[tuple[tuple[Level, ...], Objective]] = []
    for level in Level:
        objective = form.objectives[level]
        if packed:
            levels, before = packed[-1]
            joined = _weigh(before, _span(form, level) + 1, objective)
            if max(map(abs, joined.terms.values()), default=0) <= largest:
                packed[-1] = ((*levels, level), joined)
                continue
        packed.append(((level,), objective))
    return packed


def _weigh(before: Objective, weight: int, after: Objective) -> Objective:
    columns = sorted(before.terms.keys() | after.terms.keys())
    terms = {c: before.terms.get(c, 0) * weight + after.terms.get(c, 0) for c in columns}
    return Objective(before.constant * weight + after.constant, terms)


def _span(form: LinearForm, level: Level) -> int:
    """How far apart two answers can be in a level: at most one arc a seat."""
    terms = form.objectives[level].terms
    if not terms:
        return 0
    low, high = min(0, *terms.values()), max(0, *terms.values())
    most = form.seats if level not in (Level.LEADERLESS, Level.SPLIT) else form.columns
    return min(form.objectives[level].span(), (high - low) * most)
