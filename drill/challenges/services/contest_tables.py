"""What the pages of contests show: staff's tables with names, evaluators' without."""

from __future__ import annotations

import datetime
import hmac
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from hashlib import sha256

from django.conf import settings
from django.db.models import Q, QuerySet

from bandops.lib.accounts.models import User
from drill.challenges.core import contests as core
from drill.challenges.enums import ContestState, Side
from drill.challenges.models import Contest, ContestCriterion, ContestMark, ContestRound
from drill.challenges.services.contests import DECIDED, criteria_of, fingerprint, mark_of
from drill.challenges.services.marks import may_mark
from drill.challenges.services.protection import away_on, protected
from drill.challenges.wording import contest_sentence, own_contest_sentence
from roster.people.models import Member, Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot

SHOWN_DAYS = 7
ONE_SIDE = {True: "A", False: "B"}


def contests(season: Season) -> QuerySet[Contest]:
    """The season's contests with what tables show."""
    return Contest.objects.filter(round__season=season).select_related(
        "round__season",
        "round__effective",
        "spot__rank",
        "spot__part",
        "challenger__person",
        "holder__person",
        "decided_by",
    )


def numbers(rows: Iterable[Contest]) -> dict[int, int]:
    """Contest id -> its number in its round: 1, 2, … in an order that tells neither who asked
    first nor which spot it is about."""
    count: dict[int, int] = defaultdict(int)
    found = {}
    for contest in sorted(rows, key=lambda c: _draw(c.pk)):
        count[contest.round_id] += 1
        found[contest.pk] = count[contest.round_id]
    return found


def _draw(pk: int) -> str:
    return hmac.new(settings.SECRET_KEY.encode(), f"contest {pk}".encode(), sha256).hexdigest()


# Evaluators: sides and parts, no names


@dataclass(frozen=True)
class BlindContest:
    """What an evaluator may know of a contest, with their own marks by criterion and side."""

    pk: int
    number: int
    round: str
    part: str
    state: str
    open: bool
    marks: Mapping[tuple[int, str], Decimal]
    wanted: int

    @property
    def done(self) -> bool:
        return len(self.marks) == self.wanted


def blind_contests(season: Season, user: User, at: datetime.datetime) -> list[BlindContest]:
    """Contests an evaluator can mark now, and the week's that are over, round by round."""
    rows = list(contests(season))
    number_of = numbers(rows)
    mine: dict[int, dict[tuple[int, str], Decimal]] = defaultdict(dict)
    for m in ContestMark.objects.filter(contest__round__season=season, evaluator=user):
        mine[m.contest_id][m.criterion_id, m.side] = m.value
    wanted = ContestCriterion.objects.filter(season=season).count() * len(Side)
    found = []
    for c in sorted(rows, key=lambda c: (c.round.held_at, number_of[c.pk])):
        open_ = may_mark(c, user, at)
        days = (at.astimezone(c.round.zone).date() - c.round.held_on).days
        own = user.pk in (c.challenger.person.user_id, c.holder.person.user_id)
        if open_ or (0 <= days < SHOWN_DAYS and not own):
            state = "" if c.state == ContestState.ASKED else _over(c)
            found.append(
                BlindContest(
                    c.pk, number_of[c.pk], str(c.round), str(c.spot.part), state, open_,
                    mine[c.pk], wanted,
                )
            )  # fmt: skip
    return found


def _over(contest: Contest) -> str:
    return "called off" if contest.state == ContestState.CALLED_OFF else "decided"


# Staff: a round with names


@dataclass(frozen=True)
class ContestLine:
    """One contest of a round as staff see it."""

    contest: Contest
    number: int
    marked: int
    """evaluators who marked everything"""
    begun: int
    """evaluators who marked only some of it"""
    sentence: str
    """figures and what follows from them; empty as long as there are none"""

    @property
    def challenger_side(self) -> str:
        return ONE_SIDE[self.contest.challenger_is_a]

    @property
    def holder_side(self) -> str:
        return ONE_SIDE[not self.contest.challenger_is_a]


@dataclass(frozen=True)
class SpotContests:
    """The contests of a round for one spot, decided together."""

    lines: tuple[ContestLine, ...]
    holder_away: bool
    seen: str
    can_decide: bool

    @property
    def contest(self) -> Contest:
        return self.lines[0].contest

    @property
    def asked(self) -> Contest | None:
        """One that is still to be decided."""
        asked = (x.contest for x in self.lines if x.contest.state == ContestState.ASKED)
        return next(asked, None)

    @property
    def won(self) -> Contest | None:
        won = (x.contest for x in self.lines if x.contest.state == ContestState.WON)
        return next(won, None)

    @property
    def undoable(self) -> Contest | None:
        """A decided contest whose decision can be taken back."""
        if any(x.contest.applied_at for x in self.lines):
            return None
        return next((x.contest for x in self.lines if x.contest.state in DECIDED), None)


def spot_contests(round_: ContestRound) -> list[SpotContests]:
    """A round's contests by spot, in the spots' order (a fixed number of queries)."""
    rows = list(contests(round_.season).filter(round=round_))
    number_of = numbers(rows)
    criteria = criteria_of(round_.season_id)
    marks: dict[int, list[ContestMark]] = defaultdict(list)
    for mark in ContestMark.objects.filter(contest__round=round_):
        marks[mark.contest_id].append(mark)
    away = away_on(round_, [c.holder for c in rows])
    by_spot: dict[int, list[Contest]] = defaultdict(list)
    for c in rows:
        by_spot[c.spot_id].append(c)
    return [
        _of_spot(group, number_of, criteria, marks, away)
        for group in sorted(by_spot.values(), key=lambda g: _order(g[0].spot))
    ]


def _order(spot: Spot) -> tuple[int, str, int]:
    return spot.rank.order, spot.rank.label, spot.number


def _of_spot(
    group: list[Contest],
    number_of: Mapping[int, int],
    criteria: list[core.Criterion],
    marks: Mapping[int, list[ContestMark]],
    away: set[int],
) -> SpotContests:
    given = {c.pk: [mark_of(m, c) for m in marks.get(c.pk, ())] for c in group}
    asked = [c for c in group if c.state == ContestState.ASKED]
    found = {c.pk: core.figures(criteria, given[c.pk]) for c in asked}
    ready = {pk: f for pk, f in found.items() if f is not None}
    can_decide = bool(asked) and len(ready) == len(asked)
    verdicts = core.settle(ready) if can_decide else {}
    lines = []
    for c in sorted(group, key=lambda c: number_of[c.pk]):
        counted = core.complete(criteria, given[c.pk])
        begun = {m.evaluator for m in given[c.pk]} - set(counted)
        reason = verdicts[c.pk].reason if c.pk in verdicts else None
        sentence = contest_sentence(c.outcome) if c.outcome else ""
        if (figures := ready.get(c.pk)) is not None:
            sentence = contest_sentence(
                {
                    "challenger": str(figures.challenger),
                    "holder": str(figures.holder),
                    "evaluators": figures.evaluators,
                    "reason": reason,
                }
            )
        lines.append(ContestLine(c, number_of[c.pk], len(counted), len(begun), sentence))
    holder_away = any(c.holder_id in away for c in asked)
    return SpotContests(tuple(lines), holder_away, fingerprint(ready), can_decide)


# Members: what they may ask for, and their own


@dataclass(frozen=True)
class AskableSpot:
    """A spot of the member's part; ``protected`` says nothing about why."""

    spot: Spot
    own_rank: bool
    protected: bool


def askable(round_: ContestRound, member: Member) -> list[AskableSpot]:
    """The held spots an alternate may think of, their own rank's first."""
    place = getattr(member, "alternate_place", None)
    if place is None:
        return []
    parts = member.qualifications.values("part")
    spots = [
        s
        for s in rank_queries.spots_with_holders(round_.season).filter(part__in=parts)
        if s.open_holdings  # type: ignore[attr-defined]
    ]
    closed = protected(round_, spots)
    found = [AskableSpot(s, s.rank_id == place.rank_id, s.pk in closed) for s in spots]
    return sorted(found, key=lambda a: (not a.own_rank, _order(a.spot)))


@dataclass(frozen=True)
class OwnContest:
    """A contest as its challenger or the spot's holder reads it."""

    contest: Contest
    challenges: bool
    sentence: str
    may_call_off: bool

    def asks_in(self, round_: ContestRound | None) -> bool:
        """Asked for in that round and not called off."""
        mine = self.challenges and self.contest.state != ContestState.CALLED_OFF
        return mine and round_ is not None and self.contest.round_id == round_.pk


def own_contests(season: Season, member: Member, at: datetime.datetime) -> list[OwnContest]:
    """The member's contests, the latest first: those they asked for and those for their spot."""
    rows = Contest.objects.filter(Q(challenger=member) | Q(holder=member), round__season=season)
    rows = rows.select_related("round__season", "round__effective", "spot__rank", "spot__part")
    return [
        OwnContest(
            c,
            c.challenger_id == member.pk,
            own_contest_sentence(c.state, c.outcome, c.challenger_id == member.pk),
            c.challenger_id == member.pk and c.state == ContestState.ASKED and at < c.round.held_at,
        )
        for c in rows.order_by("-round__held_at", "-pk")
    ]


@dataclass(frozen=True)
class SignUp:
    """Where a request made now goes: the round that takes it, and the round it is made for, which
    differs when it comes after the closing time and waits."""

    round: ContestRound | None
    seen: ContestRound | None

    @property
    def is_late(self) -> bool:
        return self.seen is not None and self.seen != self.round

    @property
    def is_open(self) -> bool:
        return self.round is not None and self.seen is not None


def sign_up(season: Season, at: datetime.datetime) -> SignUp:
    """The sign-up as it stands at a time."""
    rounds = list(
        ContestRound.objects.filter(season=season)
        .select_related("season", "effective")
        .order_by("closes_at", "pk")
    )
    closed = [r for r in rounds if r.closes_at <= at]
    last = closed[-1] if closed else None
    coming = next((r for r in rounds if at < r.closes_at), None)
    if coming is not None and coming.opens_at <= at:
        return SignUp(coming, coming)
    return SignUp(coming, last)
