"""Reused reads of tryouts."""

from __future__ import annotations

import datetime

from django.db.models import OuterRef, Prefetch, Q, QuerySet, Subquery

from bandops.lib.names import plain
from bandops.lib.person_names import is_beside_a_name
from roster.people.models import Season
from roster.tryouts.enums import OfferKind, OfferState, TryoutState
from roster.tryouts.models import (
    Candidate,
    Decision,
    GroupEvaluator,
    Offer,
    Panelist,
    Recusal,
    SeatingPlan,
    Tryout,
    TryoutCriterion,
    TryoutGroup,
    TryoutQuota,
    TryoutSession,
    WantedPart,
)


def tryouts(season: Season) -> QuerySet[Tryout]:
    """The season's tryouts, the newest first."""
    return Tryout.objects.filter(season=season).select_related("season")


def sessions(tryout: Tryout) -> QuerySet[TryoutSession]:
    return TryoutSession.objects.filter(tryout=tryout).select_related("tryout__season")


def criteria(tryout: Tryout) -> QuerySet[TryoutCriterion]:
    return TryoutCriterion.objects.filter(tryout=tryout)


def quotas(tryout: Tryout) -> QuerySet[TryoutQuota]:
    return TryoutQuota.objects.filter(tryout=tryout).select_related("part__instrument")


def panelists(tryout: Tryout) -> QuerySet[Panelist]:
    return Panelist.objects.filter(tryout=tryout).select_related("user").prefetch_related("away")


def candidates(tryout: Tryout) -> QuerySet[Candidate]:
    """All of them by name, with their parts in order; also those who withdrew."""
    wishes = WantedPart.objects.select_related("part__instrument").order_by("order")
    found = Candidate.objects.filter(tryout=tryout).select_related("person", "tryout")
    return found.prefetch_related(Prefetch("wishes", wishes, to_attr="wanted"))


def trying(tryout: Tryout) -> QuerySet[Candidate]:
    """Those who did not withdraw."""
    return candidates(tryout).filter(withdrawn_at__isnull=True)


def recused(tryout: Tryout) -> set[tuple[int, int]]:
    """(candidate, account of the evaluator) ids that must not meet."""
    rows = Recusal.objects.filter(candidate__tryout=tryout)
    return set(rows.values_list("candidate_id", "evaluator_id"))


def has_joined(tryout: Tryout) -> bool:
    """The selected are members of the band."""
    return SeatingPlan.objects.filter(tryout=tryout, applied_at__isnull=False).exists()


def planned_looks(tryout: Tryout) -> set[tuple[int, int, int]]:
    """(candidate, panelist, session) ids of the looks that the plan has, without those of
    evaluators that are recused and of candidates who withdrew; two queries."""
    never = recused(tryout)
    rows = GroupEvaluator.objects.filter(
        group__session__tryout=tryout,
        group__places__candidate__isnull=False,
        group__places__candidate__withdrawn_at=None,
    ).values_list(
        "group__places__candidate_id", "panelist_id", "group__session_id", "panelist__user_id"
    )
    return {
        (candidate, panelist, session)
        for candidate, panelist, session, user in rows
        if (candidate, user) not in never
    }


def groups(tryout: Tryout) -> QuerySet[TryoutGroup]:
    """Groups in the order of the timetable."""
    return TryoutGroup.objects.filter(session__tryout=tryout).select_related(
        "session__tryout__season"
    )


def search_candidates(queryset: QuerySet[Candidate], text: str) -> QuerySet[Candidate]:
    """Candidates whose names or student number hold every word of the text."""
    words = text.replace("\0", " ").split()
    for word in [word for word in words if not is_beside_a_name(word)] or words:
        queryset = queryset.filter(person__search__contains=plain(word))
    return queryset


def posted_offers(season: Season, now: datetime.datetime) -> QuerySet[Offer]:
    """What the season's public lists show, by name: offers that stand, of the decisions that count,
    to people who have not opted out."""
    newest = Decision.objects.filter(tryout=OuterRef("decision__tryout"), second_at__isnull=False)
    decided = Offer.objects.filter(
        decision=Subquery(newest.order_by("-version").values("pk")[:1]),
        decision__tryout__season=season,
        decision__tryout__state=TryoutState.DECIDED,
        decision__tryout__posts_at__lte=now,
    )
    over = Q(state=OfferState.OPEN, expires_at__lte=now)
    gone = Q(kind=OfferKind.NONE) | Q(state__in=(OfferState.DECLINED, OfferState.WITHDRAWN)) | over
    standing = decided.exclude(gone).filter(candidate__person__listed=True)
    found = standing.select_related("decision", "candidate__person", "part")
    return found.order_by("decision__tryout", "candidate__person__sort_key", "pk")
