"""Results: private notes first, the public list at the announced hour, by names alone."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.utils import timezone

from bandops.lib import mail
from bandops.lib.accounts.links import INVITATION, link_for
from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import moment_words
from bandops.lib.errors import Refused
from bandops.lib.outbox.dispatch import add_job
from roster.people.models import Part
from roster.people.services.invitations import account_of
from roster.tryouts.enums import OfferKind, OfferState
from roster.tryouts.models import Decision, Offer, Tryout
from roster.tryouts.services.deciding import current, let_go, offers
from roster.tryouts.services.setting_up import locked


def set_posting(
    *, actor: User, tryout: Tryout, notes_at: datetime.datetime, posts_at: datetime.datetime
) -> Tryout:
    """When private notes and the public list are shown; what is posted already stays posted."""
    with recorded(actor, "set posting"):
        tryout = locked(tryout)
        if current(tryout) is None:
            raise Refused("Two people sign the decision first.")
        if tryout.posts_at is not None and tryout.posts_at <= timezone.now():
            raise Refused("The list is posted already.")
        if notes_at > posts_at:
            raise Refused("Private notes come first, the public list after.")
        tryout.notes_at, tryout.posts_at = notes_at, posts_at
        tryout.full_clean()
        tryout.save()
    return tryout


def are_told(tryout: Tryout, now: datetime.datetime) -> bool:
    """Candidates may see their own result."""
    return tryout.notes_at is not None and tryout.notes_at <= now


def is_posted(tryout: Tryout, now: datetime.datetime) -> bool:
    """The public list may be seen: not a second earlier."""
    return tryout.posts_at is not None and tryout.posts_at <= now


@dataclass(frozen=True)
class PartList:
    """One part's public list: names of who has a spot, and of alternates."""

    part: Part
    members: list[str] = field(default_factory=list)
    alternates: list[str] = field(default_factory=list)


def public_list(decision: Decision) -> list[PartList]:
    """The selected alone, by name; whoever opted out or let the offer go is not on it. By name,
    since numbers are what everybody saw on the field, and so that no order tells a figure."""
    now = timezone.now()
    found: dict[int | None, PartList] = {}
    for offer in offers(decision).order_by("candidate__person__sort_key"):
        if offer.part is None or not offer.stands(now) or not offer.candidate.person.listed:
            continue
        row = found.setdefault(offer.part_id, PartList(offer.part))
        if offer.kind == OfferKind.SPOT:
            row.members.append(offer.candidate.person.name)
        else:
            row.alternates.append(offer.candidate.person.name)
    return sorted(
        found.values(), key=lambda p: (p.part.instrument.order, p.part.order, p.part.name)
    )


def tell_all(*, actor: User, tryout: Tryout) -> int:
    """Mail everybody their private note as soon as notes may be seen; how many mails. Whoever was
    told this very offer is not told again."""
    with recorded(actor, "tell result"):
        tryout = locked(tryout)
        decision = current(tryout)
        if decision is None or tryout.notes_at is None:
            raise Refused("Set first when notes and the list are shown.")
        mail.refuse_unless_set_up()
        rows = offers(decision).filter(told_at=None, candidate__withdrawn_at=None)
        now = timezone.now()
        gone = let_go(decision)
        waiting = [r for r in rows if r.candidate.person.email and r.candidate_id not in gone]
        for row in waiting:
            account_of(actor, row.candidate.person)
            add_job(
                key=f"tryout-note:{row.pk}",
                kind="tryouts.note",
                group=f"tryout:{tryout.pk}",
                payload={"offer": row.pk},
                not_before=tryout.notes_at if tryout.notes_at > now else None,
            )
    return len(waiting)


def note_mail(offer: Offer) -> tuple[str, str]:
    """Subject and text of a private note."""
    tryout = offer.decision.tryout
    band = tryout.season.band_name
    told = [note_text(offer), ""]
    if offer.candidate.person.user is not None:
        until = f" by {moment_words(offer.expires_at, tryout.zone)}" if offer.expires_at else ""
        what = "see it" if offer.kind == OfferKind.NONE else f"accept or decline{until}"
        told += [f"To {what}, sign in with this link:", ""]
        told += [link_for(offer.candidate.person.user, INVITATION), ""]
    told.append("If you want to know why, ask the staff: they can give you your own marks.")
    return f"{band}: your tryout result", "\n".join(told)


def note_text(offer: Offer) -> str:
    """What a candidate is told, in plain words."""
    person, band = offer.candidate.person, offer.decision.tryout.season.band_name
    if offer.kind == OfferKind.SPOT:
        said = f"You are offered a spot in {band}: {offer.part}."
    elif offer.kind == OfferKind.ALTERNATE:
        said = (
            f"You are offered an alternate's place in {band}: alternate {offer.standing} for "
            f"{offer.part}. Alternates learn spots and step in during the season."
        )
    else:
        said = (
            f"We cannot offer you a place in {band} this season. Thank you for trying out; we "
            "hope to see you again."
        )
    lines = [f"{person.name},", "", said]
    return "\n".join(lines)


def note_told(offer_pk: int) -> None:
    """The mail has left."""
    Offer.objects.filter(pk=offer_pk, told_at=None).update(told_at=timezone.now())


def mark_told(*, actor: User, rows: Iterable[Offer]) -> None:
    """Staff told them in person."""
    with recorded(actor, "tell result"):
        for row in rows:
            if row.told_at is None:
                row.told_at = timezone.now()
                row.save(update_fields=["told_at"])


def own_offer(user: User, tryout: Tryout) -> Offer | None:
    """The offer of the decision that counts to the person of an account."""
    decision = current(tryout)
    if decision is None:
        return None
    rows = offers(decision).filter(candidate__person__user=user)
    return rows.exclude(state=OfferState.WITHDRAWN).first()
