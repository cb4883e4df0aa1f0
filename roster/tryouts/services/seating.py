"""The selected into ranks and spots: the problem from the rows; seats kept, moved, locked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.ranks import queries as rank_queries
from roster.ranks.models import Holding, Spot
from roster.tryouts.core import seating as core
from roster.tryouts.enums import OfferKind
from roster.tryouts.models import Candidate, KeepApart, Offer, Seat, SeatingPlan, Tryout
from roster.tryouts.services.deciding import current, offers
from roster.tryouts.services.setting_up import locked

WISHES = ("balance", "company", "home", "height", "experience")


@dataclass(frozen=True)
class Ground:
    """Who is to be seated and where, as rows; the problem is made of it."""

    plan: SeatingPlan
    offers: tuple[Offer, ...]
    spots: tuple[Spot, ...]
    seats: tuple[Seat, ...]
    apart: tuple[KeepApart, ...]
    homes: Mapping[int, tuple[int | None, int | None]]
    """candidate -> (spot, rank) of this season that has the label of where they last were"""

    @cached_property
    def by_candidate(self) -> dict[int, Offer]:
        return {o.candidate_id: o for o in self.offers}

    @cached_property
    def spot(self) -> dict[int, Spot]:
        return {s.pk: s for s in self.spots}

    @property
    def now(self) -> dict[int, int]:
        """Candidate -> spot of seats that are still theirs."""
        return {
            s.candidate_id: s.spot_id
            for s in self.seats
            if s.candidate_id in self.by_candidate and s.spot_id in self.spot
        }

    @cached_property
    def problem(self) -> core.Problem:
        """As the computation takes it."""
        figures = self.offers[0].decision.basis["figures"] if self.offers else {}
        seats = self.now
        return core.Problem(
            people=tuple(self._person(o, figures) for o in self.offers),
            places=tuple(
                core.Place(s.pk, s.rank_id, s.number, s.part_id, s.needs_experience)
                for s in self.spots
            ),
            apart=tuple(core.Kept(k.first_id, k.second_id) for k in self.apart),
            locks={
                s.candidate_id: s.spot_id
                for s in self.seats
                if s.locked and s.candidate_id in seats
            },
            before=seats,
            weights=core.Weights(**{name: getattr(self.plan, name) for name in WISHES}),
        )

    def _person(self, offer: Offer, figures: Mapping[str, Mapping[str, float]]) -> core.Person:
        who = offer.candidate
        basis = offer.decision.basis
        figure = figures.get(str(who.pk), {}).get(basis["deciding"])
        spot, rank = self.homes.get(who.pk, (None, None))
        return core.Person(
            key=who.pk,
            part=offer.part_id or 0,
            strength=figure,
            years=who.years_marched,
            home_spot=spot,
            home_rank=rank,
            height=who.height,
            may_lead=who.may_lead,
        )


def plan_of(tryout: Tryout) -> SeatingPlan:
    """The tryout's seating; unsaved where nobody has begun it."""
    return SeatingPlan.objects.filter(tryout=tryout).first() or SeatingPlan(tryout=tryout)


def ground_of(tryout: Tryout) -> Ground:
    """Everybody with a spot that stands, and all spots of the season."""
    decision = current(tryout)
    now = timezone.now()
    rows = list(offers(decision).filter(kind=OfferKind.SPOT)) if decision is not None else []
    standing = tuple(o for o in rows if o.stands(now))
    spots = tuple(rank_queries.spots(tryout.season))
    plan = plan_of(tryout)
    seats = (
        tuple(plan.seats.select_related("candidate__person", "spot__rank", "spot__part"))
        if plan.pk
        else ()
    )
    return Ground(
        plan,
        standing,
        spots,
        seats,
        tuple(KeepApart.objects.filter(tryout=tryout)),
        _homes([o.candidate for o in standing], spots, tryout),
    )


def _homes(
    people: list[Candidate], spots: tuple[Spot, ...], tryout: Tryout
) -> dict[int, tuple[int | None, int | None]]:
    """Where returners last held a spot before this season, found again by its labels."""
    by_person = {c.person_id: c.pk for c in people if c.is_returning}
    held = Holding.objects.filter(
        member__person__in=by_person, member__season__starts__lt=tryout.season.starts
    ).select_related("spot__rank", "member")
    by_label = {(s.rank.label, s.label): s for s in spots}
    ranks = {s.rank.label: s.rank_id for s in spots}
    found: dict[int, tuple[int | None, int | None]] = {}
    for holding in held.order_by("starts"):
        label = holding.spot.rank.label
        spot = by_label.get((label, holding.spot.label))
        if label in ranks:
            found[by_person[holding.member.person_id]] = (spot.pk if spot else None, ranks[label])
    return found


def save_rules(*, actor: User, plan: SeatingPlan) -> SeatingPlan:
    """How much each wish counts."""
    with recorded(actor, "save seating rules"):
        plan.full_clean()
        plan.save()
    return plan


def _refuse_applied(plan: SeatingPlan) -> None:
    if plan.applied_at is not None:
        raise Refused("They are members already: take that back first, or move holders in Ranks.")


def seat_all(*, actor: User, tryout: Tryout, anew: bool = False) -> core.Seating:
    """Seat everybody; close to what is there, or ``anew`` but for the locks."""
    with recorded(actor, "seat the selected"):
        tryout = locked(tryout)
        ground = ground_of(tryout)
        _refuse_applied(ground.plan)
        if not ground.offers:
            raise Refused("Nobody has a spot yet: two people sign the decision first.")
        if not ground.spots:
            raise Refused("The season has no spots yet: add ranks and spots first.")
        problem = ground.problem
        if anew:
            problem = core.Problem(
                problem.people, problem.places, problem.apart, problem.locks, {}, problem.weights
            )
        found = core.solve(problem)
        if not found.is_possible:
            raise Refused(
                "These rules contradict each other: locks and people who are kept apart leave no "
                "way to seat everybody. Take a lock or a pair away."
            )
        _write(ground, found.seats)
    return found


def _write(ground: Ground, seats: Mapping[int, int]) -> None:
    plan = ground.plan
    plan.made_at = timezone.now()
    plan.save()
    there = {s.candidate_id: s for s in ground.seats}
    gone = [s.pk for s in ground.seats if seats.get(s.candidate_id) != s.spot_id]
    Seat.objects.filter(pk__in=gone).delete()
    Seat.objects.bulk_create(
        Seat(plan=plan, candidate_id=key, spot_id=spot)
        for key, spot in seats.items()
        if key not in there or there[key].pk in gone
    )


def move_seat(*, actor: User, tryout: Tryout, candidate: Candidate, spot: Spot) -> None:
    """By hand: the candidate to a spot of their part, who sits there to theirs; both stay locked
    out of nothing: only the one moved is locked."""
    with recorded(actor, "move seat"):
        ground = ground_of(locked(tryout))
        _refuse_applied(ground.plan)
        seats = dict(ground.now)
        offer = ground.by_candidate.get(candidate.pk)
        if offer is None or offer.part_id != spot.part_id:
            raise Refused(f"{spot} is not of the part that {candidate} was selected for.")
        sitting = next((key for key, at in seats.items() if at == spot.pk), None)
        old = seats.get(candidate.pk)
        if sitting is not None and sitting != candidate.pk:
            if old is None:
                del seats[sitting]
            else:
                seats[sitting] = old
        seats[candidate.pk] = spot.pk
        if broken := core.broken(ground.problem, seats):
            raise Refused(f"That breaks a rule: {', '.join(broken)}.")
        _write(ground, seats)
        Seat.objects.filter(plan=ground.plan, candidate=candidate).update(locked=True)


def lock_seat(*, actor: User, tryout: Tryout, seat: Seat, lock: bool) -> None:
    """Whether a seat stays when the rest is seated again."""
    with recorded(actor, "lock seat"):
        _refuse_applied(plan_of(locked(tryout)))
        seat.locked = lock
        seat.save(update_fields=["locked"])


def keep_apart(*, actor: User, tryout: Tryout, one: Candidate, other: Candidate) -> None:
    """Two who are not to be in one rank."""
    with recorded(actor, "keep apart"):
        if one.pk == other.pk:
            raise Refused("Choose two different candidates.")
        first, second = sorted((one, other), key=lambda c: c.pk)
        KeepApart.objects.get_or_create(tryout=tryout, first=first, second=second)


def let_together(*, actor: User, pair: KeepApart) -> None:
    """They may be in one rank after all."""
    with recorded(actor, "let together"):
        pair.delete()


@dataclass(frozen=True)
class RankSeats:
    """A rank with its spots and who is seated there."""

    rank: object
    rows: tuple[tuple[Spot, Seat | None], ...]
    leaders: int
    rookies: int


def ranks_of(ground: Ground) -> list[RankSeats]:
    """Rank by rank."""
    sitting = {s.spot_id: s for s in ground.seats if s.candidate_id in ground.by_candidate}
    by_rank: dict[int, list[Spot]] = defaultdict(list)
    for spot in ground.spots:
        by_rank[spot.rank_id].append(spot)
    found = []
    for spots in by_rank.values():
        rows = tuple((spot, sitting.get(spot.pk)) for spot in spots)
        people = [seat.candidate for _, seat in rows if seat is not None]
        found.append(
            RankSeats(
                spots[0].rank,
                rows,
                sum(c.may_lead for c in people),
                sum(not c.is_returning for c in people),
            )
        )
    return found
