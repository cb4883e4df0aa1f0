"""Corrections of others' marks: asked for with a reason, in effect when a second person agrees.

What was first given stays as it was, and so does every change in between.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.tryouts.enums import TryoutState
from roster.tryouts.models import Correction, Mark, MarkChange, Tryout
from roster.tryouts.services.judged import LookKey
from roster.tryouts.services.marking import refuse_off_scale
from roster.tryouts.services.marks import Counting, counting, marks_of
from roster.tryouts.services.setting_up import locked


def refuse_decided(tryout: Tryout) -> None:
    """Refused once the decision stands on the marks."""
    if tryout.state != TryoutState.JUDGING:
        raise Refused("Marks can be corrected while judging: reopen the decision first.")


def ask_correction(
    *, actor: User, tryout: Tryout, reason: str, values: Mapping[int, Decimal | None]
) -> Correction:
    """Ask for new values of some marks, by id (None: not seen)."""
    with recorded(actor, "ask for correction"):
        refuse_decided(locked(tryout))
        rows = {c.mark.pk: c for c in counting(marks_of(tryout).filter(pk__in=values))}
        changed = {pk: v for pk, v in values.items() if pk in rows and rows[pk].value != v}
        if not changed:
            raise Refused("Nothing would change.")
        if not reason.strip():
            raise Refused("Say why: the reason stays with the marks.")
        _refuse_asked_already(changed)
        for pk, value in changed.items():
            refuse_off_scale(rows[pk].mark.criterion, value)
        made = Correction.objects.create(tryout=tryout, reason=reason.strip()[:200], asked_by=actor)
        MarkChange.objects.bulk_create(
            MarkChange(
                mark_id=pk,
                before=rows[pk].value,
                value=value,
                by=actor,
                made_at=made.asked_at,
                correction=made,
            )
            for pk, value in changed.items()
        )
    return made


def _refuse_asked_already(marks: Iterable[int]) -> None:
    asked = Correction.objects.filter(answered_at=None, changes__mark__in=list(marks))
    if asked.exists():
        raise Refused("A correction of these marks waits already: answer that one first.")


def ask_moves(
    *, actor: User, tryout: Tryout, reason: str, moves: Sequence[tuple[LookKey, LookKey]]
) -> Correction:
    """Ask for the marks of some looks to go to other looks of the same evaluator. A look that
    loses its marks and gets none is left as not seen."""
    looks = {key: _look(tryout, key) for pair in moves for key in pair}
    sets = {frozenset(look) for look in looks.values()}
    if len(sets) != 1:
        raise Refused(
            "These looks are not marked on the same criteria: add what is missing first (not "
            "seen counts)."
        )
    values: dict[int, Decimal | None] = {}
    for source, _ in moves:
        values |= {it.mark.pk: None for it in looks[source].values()}
    for source, to in moves:
        for criterion, it in looks[to].items():
            values[it.mark.pk] = looks[source][criterion].value
    return ask_correction(actor=actor, tryout=tryout, reason=reason, values=values)


def _look(tryout: Tryout, key: LookKey) -> dict[int, Counting]:
    """Criterion -> mark of one look."""
    candidate, panelist, session = key
    rows = marks_of(tryout).filter(candidate=candidate, panelist=panelist, session=session)
    return {it.mark.criterion_id: it for it in counting(rows)}


def answer(*, actor: User, correction: Correction, agreed: bool) -> Correction:
    """A second person agrees, and the new values count; or anybody on the staff refuses."""
    with recorded(actor, "agree to correction" if agreed else "refuse correction"):
        refuse_decided(locked(correction.tryout))
        correction = Correction.objects.select_for_update(of=("self",)).get(pk=correction.pk)
        if correction.answered_at is not None:
            raise Refused("This correction is answered already.")
        if agreed and correction.asked_by_id == actor.pk:
            raise Refused("A second person has to agree: you asked for it yourself.")
        if agreed:
            _refuse_stale(correction)
        correction.agreed, correction.answered_by = agreed, actor
        correction.answered_at = timezone.now()
        correction.save()
    return correction


def _refuse_stale(correction: Correction) -> None:
    """The marks must still be what they were when the correction was asked for."""
    rows = Mark.objects.filter(changes__correction=correction)
    now = {it.mark.pk: it.value for it in counting(rows)}
    for change in correction.changes.all():
        if now[change.mark_id] != change.before:
            raise Refused("The marks have changed since: refuse this one and ask anew.")
