"""The result becomes members, holdings and alternates: one step, which can be taken back."""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import MemberStatus
from roster.people.models import Member, Part, Qualification
from roster.ranks.models import AlternatePlace, Holding, Rank, Spot
from roster.ranks.services.alternates import add_alternate
from roster.tryouts.enums import CriterionKind, OfferKind
from roster.tryouts.models import Candidate, Offer, Tryout
from roster.tryouts.services.deciding import current, offers
from roster.tryouts.services.figures import Figures, figures_of
from roster.tryouts.services.seating import ground_of
from roster.tryouts.services.setting_up import locked
from roster.tryouts.ties import SEATED


@dataclass(frozen=True)
class Joined:
    """How many became members, hold a spot, and stand by."""

    members: int
    holders: int
    alternates: int


def join_all(*, actor: User, tryout: Tryout, on: datetime.date) -> Joined:
    """Whoever was seated holds their spot from a day; alternates stand by in their standing;
    passed fundamentals are noted."""
    with recorded(actor, "make members of the selected"):
        tryout = locked(tryout)
        ground = ground_of(tryout)
        _refuse(tryout, ground.plan.applied_at, on)
        if not ground.now:
            raise Refused("Nobody is seated yet.")
        alternates = _alternates(tryout)
        members = _members(tryout, [*ground.offers, *alternates])
        seats = {key: ground.spot[spot] for key, spot in ground.now.items()}
        _refuse_taken(seats.values(), members.values())
        Holding.objects.bulk_create(
            Holding(spot=spot, member=members[key], starts=on, decided_by=actor, note="tryout")
            for key, spot in seats.items()
        )
        _stand_by(actor, tryout, alternates, members)
        SEATED.ask(actor, tryout.season, on, passed_by(figures_of(tryout), members))
        ground.plan.applied_at, ground.plan.applied_by = timezone.now(), actor
        ground.plan.save()
    return Joined(len(members), len(seats), len(alternates))


def _refuse(tryout: Tryout, applied_at: datetime.datetime | None, on: datetime.date) -> None:
    if applied_at is not None:
        raise Refused("They are members already.")
    if not tryout.season.starts <= on <= tryout.season.ends:
        raise Refused("The day is outside the season.")


def _alternates(tryout: Tryout) -> list[Offer]:
    """Offers of alternates' places that stand, by standing."""
    decision, now = current(tryout), timezone.now()
    if decision is None:
        return []
    rows = offers(decision).filter(kind=OfferKind.ALTERNATE).order_by("part", "standing")
    return [row for row in rows if row.stands(now)]


def _members(tryout: Tryout, rows: Iterable[Offer]) -> dict[int, Member]:
    """Candidate -> member, made where new; the part they were selected for is their main one, the
    others they wanted they double on. Members who are there keep what they play."""
    every = list(rows)
    season = tryout.season
    there = {
        m.person_id: m
        for m in Member.objects.filter(
            season=season, person__in=[o.candidate.person_id for o in every]
        )
    }
    new = [
        Member(
            person_id=o.candidate.person_id,
            season=season,
            years_marched=o.candidate.years_marched,
        )
        for o in every
        if o.candidate.person_id not in there
    ]
    Member.objects.bulk_create(new)
    made = {m.person_id: m for m in Member.objects.filter(season=season).select_related("person")}
    fresh = {m.person_id for m in new}
    _qualify(every, made, fresh)
    return {o.candidate_id: made[o.candidate.person_id] for o in every}


def _qualify(rows: list[Offer], made: dict[int, Member], fresh: set[int]) -> None:
    plays = set(
        Qualification.objects.filter(member__in=made.values()).values_list("member_id", "part_id")
    )
    wishes = defaultdict(list)
    for candidate, part in Candidate.objects.filter(
        pk__in=[o.candidate_id for o in rows]
    ).values_list("pk", "wishes__part"):
        if part is not None:
            wishes[candidate].append(part)
    new = []
    for offer in rows:
        member = made[offer.candidate.person_id]
        parts: list[int | None] = [offer.part_id]
        if offer.candidate.person_id in fresh:
            parts += [pk for pk in wishes[offer.candidate_id] if pk != offer.part_id]
        for n, pk in enumerate(parts):
            if pk is not None and (member.pk, pk) not in plays:
                main = n == 0 and offer.candidate.person_id in fresh
                new.append(Qualification(member=member, part_id=pk, main=main))
    Qualification.objects.bulk_create(new)


def _refuse_taken(spots: Iterable[Spot], members: Iterable[Member]) -> None:
    """Spots and members must be free: what stands there is not swept away."""
    every = list(members)
    busy = Holding.objects.filter(ends__isnull=True).filter(
        Q(spot__in=list(spots)) | Q(member__in=every)
    )
    places = AlternatePlace.objects.filter(member__in=every)
    details = [
        f"{h.member} holds {h.spot}." for h in busy.select_related("member__person", "spot__rank")
    ]
    details += [
        f"{p.member} is {p.title} already." for p in places.select_related("member__person")
    ]
    details += [
        f"{m} is {m.get_status_display()}." for m in every if m.status != MemberStatus.ACTIVE
    ]
    if details:
        raise Refused("Some spots or people are taken: free them first.", tuple(details))


def _stand_by(actor: User, tryout: Tryout, rows: list[Offer], members: dict[int, Member]) -> None:
    """Each alternate in the rank that has the fewest alternates for its spots of their part."""
    spots: dict[int, Counter[int]] = defaultdict(Counter)
    for part, rank in Spot.objects.filter(rank__season=tryout.season).values_list("part", "rank"):
        spots[part][rank] += 1
    ranks = {r.pk: r for r in Rank.objects.filter(season=tryout.season).select_related("season")}
    parts: dict[int, Part] = {o.part_id: o.part for o in rows if o.part is not None and o.part_id}
    given: dict[int, Counter[int]] = defaultdict(Counter)
    for offer in rows:
        part = offer.part_id or 0
        if not spots[part]:
            raise Refused(
                f"No rank has a spot for {offer.part}, where an alternate could stand by."
            )
        rank = min(
            spots[part], key=lambda pk: ((given[part][pk] + 1) / spots[part][pk], ranks[pk].order)
        )
        given[part][rank] += 1
        add_alternate(
            actor=actor,
            member=members[offer.candidate_id],
            rank=ranks[rank],
            part=parts[part],
        )


def passed_by(found: Figures, members: dict[int, Member]) -> dict[int, frozenset[str]]:
    """Member -> codes of the fundamentals in which their mean mark reaches the passing mark."""
    criteria = [
        (i, c)
        for i, c in enumerate(found.judged.criteria)
        if c.kind == CriterionKind.FUNDAMENTAL and c.fundamental and c.passing is not None
    ]
    rows = {c.pk: i for i, c in enumerate(found.judged.candidates)}
    return {
        member.pk: frozenset(
            c.fundamental
            for column, c in criteria
            if key in rows and found.criterion_means[rows[key], column] >= (c.passing or 0)
        )
        for key, member in members.items()
    }
