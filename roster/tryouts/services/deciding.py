"""A decision: versions by the rules, staff's changes, two signatures."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import Any

from django.db.models import Max, QuerySet
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.models import Part
from roster.tryouts.enums import OfferKind, OfferState, TryoutState
from roster.tryouts.models import Decision, Offer, Tryout
from roster.tryouts.services.figures import Figures, figures_of
from roster.tryouts.services.proposing import Wanted, basis_of, blockers, wanted_by
from roster.tryouts.services.setting_up import locked

SIGNED = "This version is signed: make a new one instead."


def current(tryout: Tryout) -> Decision | None:
    """The newest version that two have signed."""
    return Decision.objects.filter(tryout=tryout, second_at__isnull=False).first()


def draft(tryout: Tryout) -> Decision | None:
    """The newest version where it is not signed yet."""
    newest = Decision.objects.filter(tryout=tryout).first()
    return newest if newest is not None and not newest.is_signed else None


def offers(decision: Decision) -> QuerySet[Offer]:
    """A version's offers with what pages show."""
    rows = Offer.objects.filter(decision=decision)
    return rows.select_related("candidate__person", "part__instrument", "decision")


def let_go(decision: Decision) -> dict[int, Offer]:
    """Candidate (id) -> what an earlier version offered, for whoever has no offer in this one
    because they declined, withdrew or did not answer in time."""
    earlier = (
        Offer.objects.filter(
            decision__tryout=decision.tryout_id,
            decision__second_at__isnull=False,
            decision__version__lt=decision.version,
            candidate__offers__in=decision.offers.filter(kind=OfferKind.NONE),
        )
        .exclude(kind=OfferKind.NONE)
        .select_related("part__instrument", "decision")
        .order_by("decision__version")
    )
    last = {offer.candidate_id: offer for offer in earlier}
    return {pk: offer for pk, offer in last.items() if not offer.stands(decision.made_at)}


def make_decision(
    *, actor: User, tryout: Tryout, reason: str, expires_at: datetime.datetime | None = None
) -> Decision:
    """A version by the rules, to be changed and signed; answers that were given stay."""
    with recorded(actor, "make decision"):
        tryout = locked(tryout)
        _refuse_unready(tryout)
        refuse_past(expires_at)
        found = figures_of(tryout)
        if texts := blockers(tryout, found):
            raise Refused("There can be no decision yet.", tuple(texts))
        before = current(tryout)
        if before is not None and not reason.strip():
            raise Refused("Say why the decision changes: the reason stays with the version.")
        return write_version(actor, tryout, reason, wanted_by(found), basis_of(found), expires_at)


def refuse_past(deadline: datetime.datetime | None) -> None:
    """Offers cannot end before anybody hears of them."""
    if deadline is not None and deadline <= timezone.now():
        raise Refused("The deadline has passed already: choose a later one, or none.")


def deadline_of(decision: Decision | None) -> datetime.datetime | None:
    """The last deadline of a version's offers that is still to come."""
    if decision is None:
        return None
    rows = decision.offers.filter(expires_at__gt=timezone.now())
    last: datetime.datetime | None = rows.aggregate(last=Max("expires_at"))["last"]
    return last


def _refuse_unready(tryout: Tryout) -> None:
    if tryout.state == TryoutState.DRAFT:
        raise Refused("Judging has not begun.")
    refuse_draft(tryout)


def refuse_draft(tryout: Tryout) -> None:
    """One version after the other."""
    if draft(tryout) is not None:
        raise Refused("There is a version that is not signed yet: sign it or drop it first.")


def write_version(
    actor: User,
    tryout: Tryout,
    reason: str,
    wanted: Iterable[Wanted],
    basis: dict[str, Any],
    expires_at: datetime.datetime | None,
) -> Decision:
    """A new version; whoever had the very same offer before keeps their answer and its deadline.
    Without a deadline of its own, new offers end with those of the version before."""
    before = current(tryout)
    expires_at = expires_at or deadline_of(before)
    earlier = {o.candidate_id: o for o in before.offers.all()} if before is not None else {}
    newest = Decision.objects.filter(tryout=tryout).first()
    made = Decision.objects.create(
        tryout=tryout,
        version=newest.version + 1 if newest else 1,
        reason=reason.strip()[:300],
        basis=basis,
        made_by=actor,
    )
    rows = []
    for it in wanted:
        offer = Offer(
            decision=made,
            candidate=it.candidate,
            kind=it.kind,
            part=it.part,
            standing=it.standing,
            reason=it.reason,
            expires_at=expires_at if it.kind != OfferKind.NONE else None,
        )
        old = earlier.get(it.candidate.pk)
        if old is not None and (old.kind, old.part_id) == (offer.kind, _pk(it.part)):
            offer.state, offer.answered_at = old.state, old.answered_at
            offer.expires_at = old.expires_at
            offer.by_hand = old.by_hand and old.reason == offer.reason
            offer.told_at = old.told_at if old.standing == offer.standing else None
        rows.append(offer)
    Offer.objects.bulk_create(rows)
    return made


def _pk(part: Part | None) -> int | None:
    return part.pk if part is not None else None


def change_offer(
    *,
    actor: User,
    offer: Offer,
    kind: str,
    part: Part | None,
    reason: str,
) -> Offer:
    """Staff's word instead of the rules', in a version that nobody has signed; alternates of the
    part move up or down. A reason is needed: it is read in an appeal."""
    with recorded(actor, "change offer"):
        Decision.objects.select_for_update(of=("self",)).get(pk=offer.decision_id)
        offer = offers(offer.decision).get(pk=offer.pk)
        if offer.decision.first_at is not None:
            raise Refused("It is signed already: drop this version first.")
        if not reason.strip():
            raise Refused("Say why: the reason stays with the offer.")
        if kind != OfferKind.NONE and part is None:
            raise Refused("Choose a part.")
        left = offer.part if offer.kind == OfferKind.ALTERNATE else None
        offer.kind, offer.part = kind, part if kind != OfferKind.NONE else None
        offer.standing, offer.by_hand = None, True
        offer.reason = reason.strip()[:300]
        offer.state, offer.told_at = OfferState.OPEN, None
        offer.expires_at = None if kind == OfferKind.NONE else deadline_of(offer.decision)
        if kind == OfferKind.ALTERNATE:
            offer.standing = 1 + sum(
                o.pk != offer.pk
                for o in Offer.objects.filter(decision=offer.decision, part=part, kind=kind)
            )
        offer.save()
        if left is not None:
            _close_ranks(offer.decision, left)
    return offer


def _close_ranks(decision: Decision, part: Part) -> None:
    """Standings from 1 on without a gap."""
    rows = Offer.objects.filter(decision=decision, part=part, kind=OfferKind.ALTERNATE)
    for n, row in enumerate(rows.order_by("standing"), 1):
        if row.standing != n:
            row.standing = n
            row.save(update_fields=["standing"])


def _spots(count: int) -> str:
    """'1 spot', '2 spots'."""
    return f"{count} spot" if count == 1 else f"{count} spots"


def over_quota(decision: Decision, found: Figures) -> list[str]:
    """Parts that have more or fewer spots offered than the quota says, in sentences."""
    counts: dict[int, int] = {}
    for offer in decision.offers.filter(kind=OfferKind.SPOT):
        counts[offer.part_id or 0] = counts.get(offer.part_id or 0, 0) + 1
    texts = []
    for quota in found.quotas:
        count = counts.get(quota.part_id, 0)
        if count > quota.maximum:
            texts.append(f"{quota.part}: {_spots(count)} offered, {quota.maximum} at most.")
        elif count < quota.minimum:
            texts.append(f"{quota.part}: {_spots(count)} offered, {quota.minimum} at least.")
    return texts


def sign(*, actor: User, decision: Decision) -> Decision:
    """One of two signatures, by two people; with the second the version counts."""
    with recorded(actor, "sign decision"):
        tryout = locked(decision.tryout)
        decision = Decision.objects.select_for_update(of=("self",)).get(pk=decision.pk)
        if decision.is_signed:
            raise Refused("It has both signatures already.")
        found = figures_of(tryout)
        if texts := [*blockers(tryout, found), *_stale(decision, found)]:
            raise Refused("It cannot be signed.", tuple(texts))
        now = timezone.now()
        if decision.first_by_id is None:
            decision.first_by, decision.first_at = actor, now
        elif decision.first_by_id == actor.pk:
            raise Refused("You have signed: a second person signs, too.")
        else:
            decision.second_by, decision.second_at = actor, now
            if tryout.state == TryoutState.JUDGING:
                tryout.state = TryoutState.DECIDED
                tryout.save()
        decision.save()
    return decision


def _stale(decision: Decision, found: Figures) -> list[str]:
    """The figures must be those that the version was made on."""
    now = basis_of(found)
    if found.tryout.state == TryoutState.JUDGING and decision.basis != now:
        return ["Marks or quotas have changed since it was made: drop it and make it anew."]
    return []


def drop(*, actor: User, decision: Decision) -> None:
    """A version without its second signature goes."""
    with recorded(actor, "drop decision"):
        locked(decision.tryout)
        decision = Decision.objects.select_for_update(of=("self",)).get(pk=decision.pk)
        if decision.is_signed:
            raise Refused(SIGNED)
        decision.delete()


def reopen(*, actor: User, tryout: Tryout, reason: str) -> None:
    """Take marks again, before anything is posted; the signed version counts until the next."""
    with recorded(actor, "reopen decision"):
        tryout = locked(tryout)
        if tryout.state != TryoutState.DECIDED:
            raise Refused("Only a decided tryout that is not posted can be opened again.")
        if tryout.posts_at is not None and tryout.posts_at <= timezone.now():
            raise Refused("The results are posted: change the decision by a new version.")
        if not reason.strip():
            raise Refused("Say why: the history keeps it.")
        tryout.state = TryoutState.JUDGING
        tryout.save()
