"""Who could march a seat, as lines to read: where each comes from, what it asks of them, and what
each button would do."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from bandops.lib.keys import key
from bandops.lib.names import plain
from drill.events.models import Segment
from drill.field.wording import steps_text
from drill.lineup.core import problem as core
from drill.lineup.core.candidates import Candidate, Effect
from drill.lineup.core.level_values import is_own_alternate
from drill.lineup.core.relearn import Load
from drill.lineup.core.rules import WhyNot
from drill.lineup.services.problem_builder import Built
from drill.lineup.wording import NOT_ALONG, WHY_NOT, Names, effect_words, rung_text
from roster.people.models import Member
from roster.ranks.models import Spot

MOST_FLAT = 10
"""candidates that are listed at once; of more the best, and the others to be searched"""
BEST = 3


@dataclass(frozen=True)
class CandidateLine:
    """A member for a seat. ``facts`` are what tells them apart from others; ``put``, ``swap`` and
    ``swap_all`` say what each button does, '' where there is none."""

    member: Member
    plain: str
    where_from: str = ""
    usual: str = ""
    """the instrument they usually play, where the spot asks another"""
    here: bool = False
    facts: tuple[str, ...] = ()
    learns: bool = False
    put: str = ""
    swap: str = ""
    swap_all: str = ""
    why_not: str = ""
    suggested: bool = False
    """the first who is not there already"""


@dataclass(frozen=True)
class Lines:
    """``best`` first, then ``others``, then who cannot."""

    best: tuple[CandidateLine, ...] = ()
    others: tuple[CandidateLine, ...] = ()
    could_not: tuple[CandidateLine, ...] = ()

    @property
    def another_instrument(self) -> bool:
        """Whether somebody of them would have to play another than usual."""
        return any(line.usual for line in (*self.best, *self.others))


def candidate_lines(
    built: Built, found: Iterable[Candidate], segment: Segment, spot: Spot, names: Names
) -> Lines:
    """The candidates of a seat; of the best only what differs between them is said."""
    maker = _Maker(built, segment, spot, names)
    candidates = list(found)
    could = [maker.line(c) for c in candidates if not c.why_not]
    nearest = next((n for n, line in enumerate(could) if not line.here), None)
    if nearest is not None:
        could[nearest] = replace(could[nearest], suggested=True)
    cut = BEST if len(could) > MOST_FLAT else len(could)
    return Lines(
        _told_apart(could[:cut]),
        tuple(could[cut:]),
        tuple(maker.kept_out(c) for c in candidates if c.why_not),
    )


def _told_apart(lines: Sequence[CandidateLine]) -> tuple[CandidateLine, ...]:
    """Without the facts that all who are not there already share."""
    elsewhere = [set(line.facts) for line in lines if not line.here]
    shared = set.intersection(*elsewhere) if len(elsewhere) > 1 else set()
    return tuple(
        replace(x, facts=tuple(f for f in x.facts if x.here or f not in shared)) for x in lines
    )


@dataclass(frozen=True)
class _Maker:
    built: Built
    segment: Segment
    spot: Spot
    names: Names

    def line(self, it: Candidate) -> CandidateLine:
        load = self.built.load(it.member, key(self.spot.pk), key(self.segment.pk))
        member, here = self.built.members[it.member], it.stands_at == key(self.spot.pk)
        return CandidateLine(
            member=member,
            plain=plain(member.name),
            where_from=self._where_from(it),
            usual=self.built.usual_instrument(it.member, key(self.spot.pk)),
            here=here,
            facts=(*self._moves(it.put), *self._learns(load)),
            learns=bool(load and load.new),
            put=effect_words(it.put, self.names, all_segments=False),
            swap=effect_words(it.swap, self.names, all_segments=False),
            swap_all=effect_words(it.swap_all, self.names, all_segments=True),
        )

    def kept_out(self, it: Candidate) -> CandidateLine:
        member = self.built.members[it.member]
        words = WHY_NOT | self._away_words(it.member)
        why_not = ", ".join(words[reason] for reason in it.why_not)
        return CandidateLine(member, plain(member.name), why_not=why_not)

    def _where_from(self, it: Candidate) -> str:
        """'marches it now', 'holds it', 'first backup', 'from 4-11', 'alternate 2 of the rank'."""
        spot, member = key(self.spot.pk), self._problem_member(it.member)
        if it.stands_at == spot:
            return "marches it now"
        order = next((b.order for b in self._backups() if b.member == it.member), None)
        said = []
        if member.holds == spot:
            said.append("holds it")
        if order is not None:
            said.append(rung_text({"backup": order}))
        if it.stands_at:
            said.append(f"now at {self.names.spot(it.stands_at)}")
        elif not said:
            said.append(self._standing(member))
        return ", ".join(said)

    def _standing(self, member: core.Member) -> str:
        if is_own_alternate(member, self._problem_spot(), self.built.problem.settings.pool):
            return rung_text({"standing": member.standing, "pool": self.names.pool})
        if member.standing is not None:
            return f"alternate in {self.names.rank(member.rank)}"
        return f"holds {self.names.spot(member.holds)}" if member.holds else "free"

    def _moves(self, effect: Effect | None) -> tuple[str, ...]:
        if effect is None:
            return ()
        n = len({change.member for change in effect.changes})
        return (f"{n} {'person moves' if n == 1 else 'people move'}",)

    def _learns(self, load: Load | None) -> tuple[str, ...]:
        if load is None or not load.total:
            return ()
        if not load.new:
            return (f"knows all {load.total} sets",)
        new = f"{load.new} of {load.total} sets new"
        if load.largest is None:
            return (new,)
        far = steps_text(load.largest, self.names.style)
        return new, f"farthest {far} at set {load.largest_set}"

    def _away_words(self, member: str) -> dict[WhyNot, str]:
        """Why a member is not there, where more is known than that."""
        if member in self.built.at_home:
            return NOT_ALONG
        if self.built.is_doubtful(member, key(self.segment.pk)):
            standing = self.built.standings[member, key(self.segment.pk)]
            chance = round(standing.chance * 100)
            said = f"doubtful ({chance}%), planned as out by the season's setting"
            return {WhyNot.AWAY: said}
        return {}

    def _backups(self) -> list[core.Backup]:
        return [b for b in self.built.problem.backups if b.spot == key(self.spot.pk)]

    def _problem_member(self, member: str) -> core.Member:
        return next(m for m in self.built.problem.members if m.key == member)

    def _problem_spot(self) -> core.Spot:
        return next(s for s in self.built.problem.spots if s.key == key(self.spot.pk))
