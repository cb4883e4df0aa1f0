"""From figures to offers: the proposal by the rules, staff's changes, two signatures, versions."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Max, QuerySet
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.models import Part
from roster.tryouts.core.selection import Selection, Tie
from roster.tryouts.enums import Deciding, OfferKind, OfferState, TryoutState
from roster.tryouts.models import Candidate, Correction, Decision, Offer, Tryout
from roster.tryouts.services.checking import check_sheets
from roster.tryouts.services.figures import Figures, figures_of
from roster.tryouts.services.setting_up import locked
from roster.tryouts.wording import numbers_words, ordinal, ties_words

SIGNED = "This version is signed: make a new one instead."


@dataclass(frozen=True)
class Wanted:
    """What somebody is to be offered, and why."""

    candidate: Candidate
    kind: str
    part: Part | None
    standing: int | None
    reason: str
    place: int = 0
    """their place among those who compete for the part"""
    mark: str = ""
    """the shape of where they stand to the cut"""


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


def blockers(tryout: Tryout, found: Figures) -> list[str]:
    """What stands in the way of a decision, in sentences."""
    texts = []
    grave = check_sheets(tryout, found.judged).grave
    if grave:
        what = "thing" if len(grave) == 1 else "things"
        texts.append(f"The sheet check found {len(grave)} {what} to settle first.")
    waiting = Correction.objects.filter(tryout=tryout, answered_at=None).count()
    if waiting:
        what = "correction waits" if waiting == 1 else "corrections wait"
        texts.append(f"{waiting} {what} for a second person.")
    if found.fit is None:
        texts.append("The figures cannot be compared: see Figures.")
    texts += [tie_text(found, tie) for tie in found.selection.ties]
    return texts


def tie_text(found: Figures, tie: Tie) -> str:
    """What is tied at which line, and what may settle it."""
    people = {c.pk: c.called for c in found.judged.candidates}
    part = part_of(found, tie.part)
    if not tie.outside:
        equals = numbers_words([people[k] for k in tie.inside])
        return (
            f"Alternates for {part} stand equal: {equals}. {ties_words(found.tie_criteria)} does "
            "not tell them apart: give them another look."
        )
    room = next(q for q in found.core_quotas if q.part == tie.part)
    more = (
        f" or, since up to {room.most} fit, fill {room.target + len(tie.outside)} spots"
        if not tie.alternates and room.target + len(tie.outside) <= room.most
        else ""
    )
    inside = numbers_words([people[k] for k in tie.inside])
    outside = numbers_words([people[k] for k in tie.outside])
    line = "last alternate's place" if tie.alternates else "last spot"
    return (
        f"A tie at the {line} in {part}: {inside} and {outside} stand equal. "
        f"{ties_words(found.tie_criteria)} does not tell them apart: give them another look"
        f"{more}. Names and numbers never decide."
    )


def part_of(found: Figures, pk: int) -> Part:
    """A part that has a quota."""
    return next(q.part for q in found.quotas if q.part_id == pk)


def wanted_by(found: Figures, selection: Selection | None = None) -> list[Wanted]:
    """What the rules offer everybody who tries out, each with its reason."""
    chosen = selection or found.selection
    standing = {
        key: (part, n) for part, keys in chosen.alternates.items() for n, key in enumerate(keys, 1)
    }
    parts = {q.part_id: q.part for q in found.quotas}
    result = []
    for line in found.lines:
        candidate = line.candidate
        if candidate.withdrawn_at is not None:
            continue
        if candidate.pk in chosen.places:
            part = parts[chosen.places[candidate.pk]]
            text = _reason(found, chosen, candidate, part, None)
            place = chosen.places_of.get((candidate.pk, part.pk), 0)
            result.append(Wanted(candidate, OfferKind.SPOT, part, None, text, place, line.mark))
        elif candidate.pk in standing:
            pk, n = standing[candidate.pk]
            text = _reason(found, chosen, candidate, parts[pk], n)
            wanted = Wanted(candidate, OfferKind.ALTERNATE, parts[pk], n, text, n, line.mark)
            result.append(wanted)
        else:
            text = _reason(found, chosen, candidate, None, None)
            result.append(Wanted(candidate, OfferKind.NONE, None, None, text))
    return result


def _reason(
    found: Figures, chosen: Selection, candidate: Candidate, part: Part | None, standing: int | None
) -> str:
    """'17th for 16 spots in alto; 12th for 20 spots in clarinet.'"""
    line = found.by_candidate[candidate.pk]
    if line.looks < found.tryout.minimum_looks:
        return f"{line.looks} looks, {found.tryout.minimum_looks} needed."
    figure = line.deciding(found.tryout)
    if figure is not None and figure < float(found.tryout.standard or 0):
        return f"{figure:.1f} is below the lowest figure for an offer."
    trade = next((t for t in chosen.trades if t.key == candidate.pk), None)
    said = []
    targets = {q.part: q for q in found.core_quotas}
    for wish in candidate.wanted:  # type: ignore[attr-defined]
        quota, place = targets.get(wish.part_id), chosen.places_of.get((candidate.pk, wish.part_id))
        if quota is None or not quota.target:
            said.append(f"no spots in {wish.part}")
        elif place is not None:
            said.append(f"{ordinal(place)} for {quota.target} spots in {wish.part}")
        if part is not None and wish.part_id == part.pk:
            break
    text = "; ".join(said)
    if standing is not None:
        text += f"; alternate {standing} for {part}"
    if trade is not None and trade.to is not None:
        text += f"; moved to {part} so that it reaches its minimum"
    return f"{text[:1].upper()}{text[1:]}."[:300]


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


def basis_of(found: Figures) -> dict[str, Any]:
    """The rules and figures that a decision is made on, as they are kept with it."""
    tryout = found.tryout
    return {
        "deciding": tryout.deciding,
        "drop_extremes": tryout.drop_extremes,
        "sessions_differ": tryout.sessions_differ,
        "minimum_looks": tryout.minimum_looks,
        "standard": str(tryout.standard) if tryout.standard is not None else None,
        "ties": [str(c) for c in found.tie_criteria],
        "quotas": {
            str(q.part_id): [q.minimum, q.target, q.maximum, q.alternates] for q in found.quotas
        },
        "figures": {
            str(line.candidate.pk): {
                "looks": line.looks,
                "raw": _kept(line.raw),
                "adjusted": _kept(line.adjusted),
                "half": _kept(line.half),
                "chance": _kept(line.chance),
                "group": str(line.group) if line.group else "",
            }
            for line in found.lines
        },
    }


def _kept(value: float | None) -> float | None:
    return None if value is None else round(value, 6)


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


def spots(count: int) -> str:
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
            texts.append(f"{quota.part}: {spots(count)} offered, {quota.maximum} at most.")
        elif count < quota.minimum:
            texts.append(f"{quota.part}: {spots(count)} offered, {quota.minimum} at least.")
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


@dataclass(frozen=True)
class Change:
    """One candidate's offer before and after, in words; ``before`` empty for a new one."""

    candidate: Candidate
    before: str
    after: str


def changes_between(before: Sequence[Offer], after: Sequence[Wanted]) -> list[Change]:
    """Whoever would have to be told something else."""
    old: Mapping[int, Offer] = {o.candidate_id: o for o in before}
    found = []
    for it in after:
        words = Offer(kind=it.kind, part=it.part, standing=it.standing).words
        was = old[it.candidate.pk].words if it.candidate.pk in old else ""
        if was != words:
            found.append(Change(it.candidate, was, words))
    return found


def deciding_words(tryout: Tryout) -> str:
    """'adjusted' or 'raw'."""
    return "raw" if tryout.deciding == Deciding.RAW else "adjusted"
