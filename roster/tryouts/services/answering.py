"""What becomes of offers: answers, deadlines, withdrawals, and who moves up."""

from __future__ import annotations

import datetime
from collections import Counter
from dataclasses import dataclass, replace

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.models import Part
from roster.tryouts import queries
from roster.tryouts.core.minimums import select_with_minimums
from roster.tryouts.enums import OfferKind, OfferState
from roster.tryouts.models import Decision, Offer, Tryout
from roster.tryouts.services.deciding import (
    current,
    draft,
    let_go,
    offers,
    refuse_draft,
    refuse_past,
    write_version,
)
from roster.tryouts.services.figures import Figures, figures_of
from roster.tryouts.services.proposing import (
    Change,
    Wanted,
    basis_of,
    changes_between,
    wanted_by,
)
from roster.tryouts.services.setting_up import locked

JOINED = "The selected are members already: talk to the staff."
MOVE_UP, BY_RULES, LEAVE_OPEN = "move up", "by the rules", "leave open"


def answer_offer(*, actor: User, offer: Offer, accept: bool, at: datetime.datetime) -> Offer:
    """The candidate's word on what they are offered; it can change until the deadline."""
    with recorded(actor, "answer offer"):
        tryout = locked(offer.decision.tryout)
        offer = _of_the_current(tryout, offer)
        if why := hindrance(offer, accept=accept, joined=queries.has_joined(tryout), at=at):
            raise Refused(why)
        offer.state = OfferState.ACCEPTED if accept else OfferState.DECLINED
        offer.answered_at = at
        offer.save()
    return offer


def _of_the_current(tryout: Tryout, offer: Offer) -> Offer:
    """The offer as it is now, if it belongs to the decision that counts."""
    offer = offers(offer.decision).get(pk=offer.pk)
    newest = current(tryout)
    if newest is None or newest.pk != offer.decision_id:
        raise Refused("The decision has changed since: look at the offer again.")
    return offer


def hindrance(offer: Offer, *, accept: bool, joined: bool, at: datetime.datetime) -> str:
    """Why an offer cannot be accepted or declined; empty where it can. Whoever is a member leaves
    the band, not the tryout."""
    if offer.kind == OfferKind.NONE:
        return "There is no offer to answer."
    if offer.state == OfferState.WITHDRAWN:
        return "They withdrew from the tryout."
    if offer.has_expired(at) or (
        offer.state == OfferState.DECLINED and accept and offer.is_past(at)
    ):
        return "The offer has expired: talk to the staff."
    if joined and not (accept and offer.state == OfferState.OPEN):
        return JOINED
    return ""


def withdraw_offer(*, actor: User, offer: Offer, at: datetime.datetime) -> None:
    """A candidate withdraws after the decision: their offer is free."""
    with recorded(actor, "answer offer"):
        tryout = locked(offer.decision.tryout)
        offer = _of_the_current(tryout, offer)
        if queries.has_joined(tryout):
            raise Refused(JOINED)
        offer.state, offer.answered_at = OfferState.WITHDRAWN, at
        offer.save()
        offer.candidate.withdrawn_at = offer.candidate.withdrawn_at or at
        offer.candidate.save()


def set_expiry(*, actor: User, decision: Decision, at: datetime.datetime | None) -> int:
    """Until when offers that nobody answered yet stand; how many."""
    with recorded(actor, "set when offers expire"):
        refuse_past(at)
        rows = offers(decision).filter(state=OfferState.OPEN).exclude(kind=OfferKind.NONE)
        for row in rows:
            row.expires_at = at
            row.save(update_fields=["expires_at"])
        return len(rows)


@dataclass(frozen=True)
class Option:
    """One way to fill what became free: who would be told what, and what stays open."""

    key: str
    title: str
    changes: tuple[Change, ...]
    open: int

    @property
    def told(self) -> int:
        return len(self.changes)


@dataclass(frozen=True)
class Vacancies:
    """Spots of the decision that nobody has or may still take: part -> how many, and the ways to
    fill them."""

    parts: tuple[tuple[Part, int], ...]
    options: tuple[Option, ...]


def vacancies(tryout: Tryout, now: datetime.datetime) -> Vacancies:
    """What became free in the decision that counts."""
    decision = current(tryout)
    if decision is None or draft(tryout) is not None:
        return Vacancies((), ())
    rows = list(offers(decision))
    targets = _targets(decision)
    free = _free(targets, rows, now)
    if not free:
        return Vacancies((), ())
    listed = tuple((part, free[part.pk]) for part in Part.objects.filter(pk__in=free))
    options = [
        _option(MOVE_UP, "The alternates move up", rows, moved_up(rows, free, now), targets),
        _option(
            BY_RULES, "The rules again, without who left", rows, _anew(decision, rows, now), targets
        ),
        _option(LEAVE_OPEN, "Leave it open", rows, [_kept(o, now) for o in rows], targets),
    ]
    return Vacancies(listed, tuple(options))


def _targets(decision: Decision) -> dict[int, int]:
    """Part (id) -> spots that the version was to fill."""
    return {int(pk): numbers[1] for pk, numbers in decision.basis["quotas"].items()}


def _free(targets: dict[int, int], rows: list[Offer], now: datetime.datetime) -> dict[int, int]:
    """Part (id) -> spots to fill that nobody has or may still take."""
    taken = Counter(row.part_id for row in rows if row.kind == OfferKind.SPOT and row.stands(now))
    return {pk: n - taken[pk] for pk, n in targets.items() if n > taken[pk]}


def _option(
    key: str, title: str, rows: list[Offer], wanted: list[Wanted], targets: dict[int, int]
) -> Option:
    gone = {o.candidate_id for o in rows if o.state in (OfferState.DECLINED, OfferState.WITHDRAWN)}
    changes = tuple(c for c in changes_between(rows, wanted) if c.candidate.pk not in gone)
    filled = Counter(w.part.pk for w in wanted if w.kind == OfferKind.SPOT and w.part is not None)
    still = sum(max(0, n - filled[pk]) for pk, n in targets.items())
    return Option(key, title, changes, still)


def _kept(offer: Offer, now: datetime.datetime) -> Wanted:
    """What a candidate has, or nothing where they let it go."""
    if offer.kind == OfferKind.NONE or offer.stands(now):
        return Wanted(offer.candidate, offer.kind, offer.part, offer.standing, offer.reason)
    left = "did not answer in time" if offer.has_expired(now) else offer.get_state_display()
    text = f"Was offered {offer.words}; {left}."
    return Wanted(offer.candidate, OfferKind.NONE, None, None, text)


def moved_up(rows: list[Offer], free: dict[int, int], now: datetime.datetime) -> list[Wanted]:
    """Alternates into free spots by standing; the rest of their list closes up."""
    kept = {o.candidate_id: _kept(o, now) for o in rows}
    for pk in {o.part_id for o in rows if o.kind == OfferKind.ALTERNATE}:
        line = sorted(
            (
                w
                for w in kept.values()
                if w.kind == OfferKind.ALTERNATE and w.part is not None and w.part.pk == pk
            ),
            key=lambda w: w.standing or 0,
        )
        room = free.get(pk or 0, 0)
        for n, w in enumerate(line):
            if n < room:
                text = f"Moved up from alternate {w.standing} for {w.part}."
                moved = replace(w, kind=OfferKind.SPOT, standing=None, reason=text)
            else:
                moved = replace(w, standing=n - room + 1)
            kept[w.candidate.pk] = moved
    return list(kept.values())


def _anew(decision: Decision, rows: list[Offer], now: datetime.datetime) -> list[Wanted]:
    """The rules once more for everybody who is still there."""
    found = figures_of(decision.tryout)
    gone = {
        o.candidate_id: _kept(o, now)
        for o in rows
        if o.kind != OfferKind.NONE and not o.stands(now)
    }
    before = let_go(decision)
    gone |= {o.candidate_id: _kept(o, now) for o in rows if o.candidate_id in before}
    people = [a for a in found.applicants if a.key not in gone]
    chosen = select_with_minimums(people, found.core_quotas)
    stays = [w for w in wanted_by(found, chosen) if w.candidate.pk not in gone]
    return [*stays, *gone.values()]


def take_option(
    *, actor: User, tryout: Tryout, key: str, reason: str, now: datetime.datetime
) -> Decision:
    """A new version by one of the options, to be signed by two."""
    with recorded(actor, "take option"):
        tryout = locked(tryout)
        decision = current(tryout)
        refuse_draft(tryout)
        if decision is None:
            raise Refused("Nothing is decided yet.")
        if not reason.strip():
            raise Refused("Say why: the reason stays with the version.")
        rows = list(offers(decision))
        free = _free(_targets(decision), rows, now)
        ways = {
            MOVE_UP: lambda: moved_up(rows, free, now),
            BY_RULES: lambda: _anew(decision, rows, now),
            LEAVE_OPEN: lambda: [_kept(o, now) for o in rows],
        }
        if key not in ways:
            raise Refused("Choose one of the options.")
        found: Figures = figures_of(tryout)
        return write_version(actor, tryout, reason, ways[key](), basis_of(found), None)
