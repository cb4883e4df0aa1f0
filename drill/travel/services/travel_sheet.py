"""A travel list laid out for reading: by part, by person, and who stays at home."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from bandops.lib.keys import key
from drill.backups.wording import percent_words, usual_chance_words
from drill.events.enums import TravelRole
from drill.events.models import TravelList
from drill.lineup.core import problem
from drill.lineup.wording import ORDINALS
from drill.travel.core import travel
from drill.travel.core.trips import Change
from drill.travel.services.marching import Marching
from drill.travel.services.travel_tally import Tally
from roster.people.models import Member
from roster.ranks.models import Rank

LAST = 1 << 20


@dataclass(frozen=True)
class Line:
    """Somebody on the list, or left at home: ``change`` says what they mean to the chances."""

    member: Member
    role: TravelRole
    rank: Rank | None
    parts: str
    spots: str
    change: str = ""
    ready: str = ""
    """for what they stand ready: 'first backup of 1-3, 2-1; alternate 2 of Rank 1'"""
    away: bool = False


@dataclass(frozen=True)
class PartLine:
    """A part in the segment where its chance of a hole is greatest; ``segment`` is empty where
    all are alike."""

    name: str
    segment: str
    spots: int
    marchers: int
    backups: int
    chance: str
    reserve: Member | None
    why: str


@dataclass(frozen=True)
class Sheet(Tally):
    """The list, or what it would be, against the lineup as it stands."""

    @property
    def usual_out(self) -> str:
        """The chance that somebody not reported is out, in words."""
        return usual_chance_words(self.now.usual)

    @cached_property
    def parts(self) -> list[PartLine]:
        """Each part in the band's order, with its first reserve."""
        marched = {part for leg in self.now.trip.legs for part in leg.parts}
        return [self._part(p.key) for p in self.now.built.problem.parts if p.key in marched]

    def _part(self, part: str) -> PartLine:
        legs = [leg for leg in self.now.trip.legs if part in leg.parts]
        chances = {leg.segment: self.outlooks[leg.segment].hole[part] for leg in legs}
        leg = max(legs, key=lambda g: chances[g.segment])
        alike = len({round(c, 6) for c in chances.values()}) == 1 and len(legs) == len(
            self.outlooks
        )
        marching = [m for m in leg.marchers if m.part == part]
        reserve = travel.first_reserve(
            self.now.built.problem, self.now.trip, self.now.placements, self.along, part
        )
        return PartLine(
            self._part_names[part],
            "" if alike else self.now.built.segments[leg.segment].name,
            len(marching),
            sum(1 for m in marching if m.member in self.along),
            sum(1 for a in leg.able if part in a.parts and a.member in self.along),
            percent_words(chances[leg.segment]),
            self.now.built.members[reserve.member] if reserve else None,
            _reserve_words(reserve) if reserve else "",
        )

    @cached_property
    def lines(self) -> list[Line]:
        """Everybody on the list in rank order, without what they mean to the chances."""
        return self._in_order([self._line(m, role) for m, role in self.roles.items()])

    @cached_property
    def travellers(self) -> dict[TravelRole, list[Line]]:
        """By role, with what leaving each at home would do."""
        changes = self.now.trip.weakening(self.along)
        made = [
            self._line(m, role, self._change(changes.get(m), worse=True))
            for m, role in self.roles.items()
        ]
        return {r: self._in_order([x for x in made if x.role == r]) for r in TravelRole}

    @cached_property
    def at_home(self) -> list[Line]:
        """Who could march but is not on the list, whoever would help most first."""
        changes = self.now.trip.strengthening(self.along)
        could = (self.now.trip.able | self.now.trip.marchers) - self.along

        def help_of(member: str) -> tuple[float, str]:
            change = changes.get(member)
            return (change.along - change.without if change else 0.0), member

        return [
            self._line(m, self.now.role(m), self._change(changes.get(m), worse=False))
            for m in sorted(could, key=help_of)
        ]

    @cached_property
    def others(self) -> list[Member]:
        """Active members who neither are on the list nor could march a spot of this lineup."""
        known = self.along | self.now.trip.able | self.now.trip.marchers
        return [m for k, m in self.now.built.members.items() if k not in known]

    def _line(self, who: str, role: TravelRole, change: str = "") -> Line:
        built = self.now.built
        return Line(
            built.members[who],
            role,
            self.rank(who),
            self._parts_of(who),
            self.now.where(who),
            change,
            self._ready(who) if role != TravelRole.MARCHES else "",
            bool(self._facts[who].away),
        )

    @cached_property
    def _facts(self) -> dict[str, problem.Member]:
        return {m.key: m for m in self.now.built.problem.members}

    def rank(self, who: str) -> Rank | None:
        """The rank the member belongs to: of the spot held, of the alternate's place, else of the
        spot marched."""
        built, fact = self.now.built, self._facts[who]
        place = getattr(built.members[who], "alternate_place", None)
        marched = next(iter(self.now.spots.get(who, ())), None)
        if fact.holds:
            return built.spots[fact.holds].rank
        if place is not None:
            return place.rank  # type: ignore[no-any-return]
        return built.spots[marched].rank if marched else None

    def _in_order(self, lines: list[Line]) -> list[Line]:
        """Rank by rank: spots by number, then alternates by standing, then names."""

        def place(line: Line) -> tuple[object, ...]:
            fact = self._facts[key(line.member.pk)]
            spot = self.now.built.spots.get(fact.holds or "")
            number = (0, spot.number) if spot else (1, fact.standing or LAST)
            rank = (line.rank.order, line.rank.label) if line.rank else (LAST, "")
            return (*rank, *number, line.member.person.sort_key)

        return sorted(lines, key=place)

    @cached_property
    def _part_names(self) -> dict[str, str]:
        spots = self.now.built.spots.values()
        names = {key(s.part_id): s.part.name for s in spots}
        skills = (q for m in self.now.built.members.values() for q in m.skills)  # type: ignore[attr-defined]
        return names | {key(q.part_id): q.part.name for q in skills}

    def _parts_of(self, who: str) -> str:
        """The parts marched; of others the parts they could stand in for, else their own."""
        parts = [self.now.built.problem_part(spot) for spot in self.now.spots.get(who, ())]
        if not parts:
            legs = self.now.trip.legs
            mine = [leg.standing_by[who].parts for leg in legs if who in leg.standing_by]
            able = frozenset().union(*mine)
            parts = [p.key for p in self.now.built.problem.parts if p.key in able]
        if not parts:
            parts = [skill.part for skill in self._facts[who].skills]
        return ", ".join(self._part_names[p] for p in dict.fromkeys(parts))

    @cached_property
    def _backed_up(self) -> dict[str, dict[int, list[str]]]:
        """Member -> order of backup -> labels of spots."""
        found: dict[str, dict[int, list[str]]] = {}
        for backup in self.now.built.problem.backups:
            spot = self.now.built.spots.get(backup.spot)
            if spot is not None:
                orders = found.setdefault(backup.member, {})
                orders.setdefault(backup.order, []).append(spot.label)
        return found

    def _ready(self, who: str) -> str:
        backed_up = self._backed_up.get(who, {})
        words = [
            f"{_nth(order)} backup of {', '.join(backed_up[order])}" for order in sorted(backed_up)
        ]
        fact, rank = self._facts[who], self.rank(who)
        if fact.standing and rank is not None:
            words.append(self._alternate_words(who, fact.standing, rank))
        return "; ".join(words)

    def _alternate_words(self, who: str, standing: int, rank: Rank) -> str:
        """'alternate 2 of Rank 1'; where the pool is wider, 'alternate 2 of the band, Rank 1'."""
        if self.now.built.problem.settings.pool is problem.Pool.RANK:
            return f"alternate {standing} of {rank}"
        return str(self.now.built.members[who].alternate_place.words)

    def _change(self, change: Change | None, *, worse: bool) -> str:
        if change is None:
            return ""
        low, high = percent_words(change.along), percent_words(change.without)
        first, second = (low, high) if worse else (high, low)
        name = self._part_names[change.part]
        return f"{name} stays at {first}" if first == second else f"{name} from {first} to {second}"


def _nth(order: int) -> str:
    return ORDINALS.get(order, f"{order}th")


def _reserve_words(reserve: travel.Reserve) -> str:
    if reserve.backup is not None:
        return f"{_nth(reserve.backup)} backup"
    if reserve.standing is not None:
        return f"alternate {reserve.standing}"
    return "plays it"


def sheet_of(it: TravelList, now: Marching) -> Sheet:
    """A list as it stands, each with the role they have by the lineup of now."""
    listed = it.travellers.select_related("member__person")
    known = now.built.members
    here = {key(t.member_id): now.role(key(t.member_id)) for t in listed}
    gone = tuple(t.member for t in listed if key(t.member_id) not in known)
    return Sheet(now, {m: role for m, role in here.items() if m in known}, gone)
