"""A tryout's rules, sessions, criteria, quotas and readiness items, until they are frozen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.models import Part
from roster.tryouts import queries
from roster.tryouts.enums import CriterionKind, TryoutState
from roster.tryouts.models import (
    Mark,
    ReadinessItem,
    Tryout,
    TryoutCriterion,
    TryoutQuota,
    TryoutSession,
)

FROZEN = "The rules are frozen since judging began."
STARTERS = (
    ("Posture and carriage", CriterionKind.FUNDAMENTAL, 2),
    ("Step size and line", CriterionKind.FUNDAMENTAL, 2),
    ("Flanks", CriterionKind.FUNDAMENTAL, 2),
    ("To-the-rears", CriterionKind.FUNDAMENTAL, 2),
    ("Slides", CriterionKind.FUNDAMENTAL, 2),
    ("Music", CriterionKind.MUSIC, 3),
    ("Memory", CriterionKind.MEMORY, 1),
)
ANCHORS = (
    "10 = every count clean\n7 = small slips, recovers\n4 = often late or off the line\n1 = stops"
)


def locked(tryout: Tryout) -> Tryout:
    """The tryout as it is now, locked until the transaction ends."""
    Tryout.objects.select_for_update().get(pk=tryout.pk)
    return Tryout.objects.select_related("season").get(pk=tryout.pk)


def refuse_frozen(tryout: Tryout) -> None:
    """Refused once judging began."""
    if tryout.is_frozen:
        raise Refused(FROZEN)


def save_tryout(*, actor: User, tryout: Tryout) -> Tryout:
    """Add a tryout or change its rules."""
    with recorded(actor, "save tryout"):
        if tryout.pk:
            refuse_frozen(locked(tryout))
        tryout.full_clean()
        tryout.save()
    return tryout


def save_session(*, actor: User, session: TryoutSession) -> TryoutSession:
    """Add a session or change it; also while judging, since rain moves sessions."""
    with recorded(actor, "save session"):
        session.full_clean()
        if session.pk and session.marks.exists():
            before = TryoutSession.objects.get(pk=session.pk)
            if before.is_calibration != session.is_calibration:
                raise Refused("It has marks: whether they count cannot change anymore.")
        session.save()
    return session


def remove_session(*, actor: User, session: TryoutSession) -> None:
    """Remove a session that has no marks."""
    with recorded(actor, "remove session"):
        if session.marks.exists():
            raise Refused(f"{session} has marks: it stays.")
        session.delete()


def save_criterion(*, actor: User, criterion: TryoutCriterion) -> TryoutCriterion:
    """Add a criterion or change it."""
    with recorded(actor, "save tryout criterion"):
        refuse_frozen(locked(criterion.tryout))
        criterion.full_clean()
        criterion.save()
    return criterion


def remove_criterion(*, actor: User, criterion: TryoutCriterion) -> None:
    """Remove a criterion, also from what breaks ties."""
    with recorded(actor, "remove tryout criterion"):
        tryout = locked(criterion.tryout)
        refuse_frozen(tryout)
        if criterion.pk in tryout.tie_order:
            tryout.tie_order = [pk for pk in tryout.tie_order if pk != criterion.pk]
            tryout.save()
        criterion.delete()


def add_starters(*, actor: User, tryout: Tryout) -> int:
    """A sensible set of criteria to begin with; how many were added."""
    with recorded(actor, "add tryout criteria"):
        refuse_frozen(locked(tryout))
        there = set(queries.criteria(tryout).values_list("name", flat=True))
        made = [
            TryoutCriterion(
                tryout=tryout, name=name, kind=kind, weight=weight, order=at, anchors=ANCHORS
            )
            for at, (name, kind, weight) in enumerate(STARTERS, start=1)
            if name not in there
        ]
        TryoutCriterion.objects.bulk_create(made)
    return len(made)


def order_ties(*, actor: User, tryout: Tryout, criteria: Sequence[TryoutCriterion]) -> None:
    """Which criteria break ties, one after the other."""
    with recorded(actor, "order ties"):
        tryout = locked(tryout)
        refuse_frozen(tryout)
        tryout.tie_order = [c.pk for c in criteria]
        tryout.save()


@dataclass(frozen=True)
class Wanted:
    """How many of a part are wanted."""

    minimum: int = 0
    target: int = 0
    maximum: int = 0
    alternates: int = 0


def save_quotas(*, actor: User, tryout: Tryout, wanted: Mapping[Part, Wanted]) -> None:
    """All parts' quotas in one step, until the tryout is decided."""
    with recorded(actor, "save quotas"):
        tryout = locked(tryout)
        if tryout.state == TryoutState.DECIDED:
            raise Refused("The tryout is decided: its quotas are part of the decision.")
        there = {q.part_id: q for q in queries.quotas(tryout)}
        for part, of in wanted.items():
            quota = there.get(part.pk) or TryoutQuota(tryout=tryout, part=part)
            if of == Wanted() and quota.pk:
                quota.delete()
            elif of != Wanted() and of != _wanted(quota):
                quota.minimum, quota.target = of.minimum, of.target
                quota.maximum, quota.alternates = of.maximum, of.alternates
                quota.full_clean()
                quota.save()


def _wanted(quota: TryoutQuota) -> Wanted:
    return Wanted(quota.minimum, quota.target, quota.maximum, quota.alternates)


def save_item(*, actor: User, item: ReadinessItem) -> ReadinessItem:
    """Add a readiness item or change it."""
    with recorded(actor, "save readiness item"):
        item.full_clean()
        item.save()
    return item


def remove_item(*, actor: User, item: ReadinessItem) -> None:
    """Remove an item, with who has it."""
    with recorded(actor, "remove readiness item"):
        item.delete()


def what_lacks(tryout: Tryout) -> list[str]:
    """What has to be there before the rules can be frozen, in sentences."""
    found = []
    if not queries.criteria(tryout).exists():
        found.append("No criteria yet: say what is marked.")
    if not queries.sessions(tryout).filter(is_calibration=False).exists():
        found.append("No session yet: say when and where candidates are seen.")
    if not queries.quotas(tryout).filter(target__gt=0).exists():
        found.append("No quotas yet: say how many of each part are wanted.")
    return found


def start_judging(*, actor: User, tryout: Tryout) -> Tryout:
    """Freeze the rules; from now on marks may come in."""
    with recorded(actor, "start judging"):
        tryout = locked(tryout)
        if tryout.is_frozen:
            raise Refused(FROZEN)
        if lacks := what_lacks(tryout):
            raise Refused("The rules cannot be frozen yet.", tuple(lacks))
        tryout.state = TryoutState.JUDGING
        tryout.frozen_at, tryout.frozen_by = timezone.now(), actor
        tryout.save()
    return tryout


def reopen_set_up(*, actor: User, tryout: Tryout) -> None:
    """Open the rules again, as long as there is no mark."""
    with recorded(actor, "reopen set-up"):
        tryout = locked(tryout)
        if Mark.objects.filter(candidate__tryout=tryout).exists():
            raise Refused("Marks are in: the rules stay as they were announced.")
        tryout.state = TryoutState.DRAFT
        tryout.save()


def copy_tryout(*, actor: User, tryout: Tryout, of: Tryout) -> Tryout:
    """Set a new tryout up like an earlier one: rules, criteria, readiness items, and the quotas of
    parts that this season has under the same code. Sessions come with names and places; their
    times move by as much as the season's start did."""
    with recorded(actor, "copy tryout"):
        for name in ("deciding", "drop_extremes", "sessions_differ", "looks_wanted"):
            setattr(tryout, name, getattr(of, name))
        tryout.minimum_looks, tryout.standard, tryout.sure = (
            of.minimum_looks,
            of.standard,
            of.sure,
        )
        tryout.full_clean()
        tryout.save()
        copies = {}
        for criterion in queries.criteria(of):
            old = criterion.pk
            criterion.pk, criterion.tryout = None, tryout
            criterion.save()
            copies[old] = criterion.pk
        tryout.tie_order = [copies[pk] for pk in of.tie_order if pk in copies]
        tryout.save()
        _copy_rest(tryout, of)
    return tryout


def _copy_rest(tryout: Tryout, of: Tryout) -> None:
    later = tryout.season.starts - of.season.starts
    for session in queries.sessions(of):
        session.pk, session.tryout = None, tryout
        session.starts_at += later
        session.save()
    for item in of.readiness_items.all():
        item.pk, item.tryout = None, tryout
        item.save()
    parts = {part.code: part for part in Part.objects.filter(season=tryout.season)}
    for quota in queries.quotas(of):
        if quota.part.code in parts:
            quota.pk, quota.tryout, quota.part = None, tryout, parts[quota.part.code]
            quota.save()
