"""Candidates: who tries out for which parts, their numbers, check-in, what is still missing."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from random import SystemRandom
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.models import Part, Person
from roster.people.services.alike import alike_to
from roster.tryouts.enums import TryoutState
from roster.tryouts.models import (
    Candidate,
    ItemReady,
    ReadinessItem,
    Recusal,
    RetiredNumber,
    Tryout,
    WantedPart,
)
from roster.tryouts.models.candidates import MOST_NUMBER
from roster.tryouts.services.setting_up import locked

FIRST_NUMBER = 101


def refuse_closed(tryout: Tryout) -> None:
    """Refused once the tryout is decided."""
    if tryout.state == TryoutState.DECIDED:
        raise Refused("The tryout is decided: reopen it on the page Decision first.")


def add_candidate(
    *,
    actor: User,
    tryout: Tryout,
    person: Person,
    values: dict[str, Any],
    wishes: Sequence[Part],
    namesake_is_meant: bool = False,
) -> Candidate:
    """Somebody tries out; one who may be known already only when another person is meant."""
    with recorded(actor, "add candidate"):
        refuse_closed(locked(tryout))
        person.derive()
        if person.pk is None and not namesake_is_meant:
            _refuse_twice(person)
        person.full_clean()
        person.save()
        candidate = Candidate(tryout=tryout, person=person, **values)
        candidate.full_clean()
        candidate.save()
        write_wishes(candidate, wishes)
    return candidate


def _refuse_twice(person: Person) -> None:
    known = alike_to(person, "")
    if known:
        raise Refused(
            "This may be somebody already here. If not, check “A different person of the same "
            "name” below.",
            tuple(f"{other}: {', '.join(shared)}." for other, shared in known),
        )


def change_candidate(
    *,
    actor: User,
    candidate: Candidate,
    person_values: dict[str, Any],
    values: dict[str, Any],
    wishes: Sequence[Part],
) -> Candidate:
    """Change what is recorded of a candidate."""
    with recorded(actor, "change candidate"):
        refuse_closed(locked(candidate.tryout))
        for name, value in person_values.items():
            setattr(candidate.person, name, value)
        candidate.person.derive()
        candidate.person.full_clean()
        candidate.person.save()
        for name, value in values.items():
            setattr(candidate, name, value)
        candidate.full_clean()
        candidate.save()
        write_wishes(candidate, wishes)
    return candidate


def write_wishes(candidate: Candidate, wishes: Sequence[Part]) -> bool:
    """The wanted parts in their order; True where that changed anything."""
    if not wishes:
        raise Refused(f"{candidate} has to want at least one part.")
    now = list(candidate.wishes.order_by("order").values_list("part_id", flat=True))
    if now == [part.pk for part in wishes]:
        return False
    candidate.wishes.all().delete()
    rows = [WantedPart(candidate=candidate, part=p, order=n) for n, p in enumerate(wishes, 1)]
    WantedPart.objects.bulk_create(rows)
    return True


def withdraw(*, actor: User, candidate: Candidate, at: datetime.datetime) -> None:
    """They try out no more; their marks stay and help to compare evaluators."""
    with recorded(actor, "withdraw candidate"):
        refuse_closed(locked(candidate.tryout))
        candidate.withdrawn_at = at
        candidate.save()


def take_back(*, actor: User, candidate: Candidate) -> None:
    """They try out after all."""
    with recorded(actor, "take candidate back"):
        refuse_closed(locked(candidate.tryout))
        candidate.withdrawn_at = None
        candidate.save()


def give_numbers(*, actor: User, tryout: Tryout, start: int = FIRST_NUMBER) -> int:
    """Numbers for all who have none, in an order drawn by lot, so that they tell nothing; how many
    were given."""
    with recorded(actor, "give numbers"):
        tryout = locked(tryout)
        without = list(
            Candidate.objects.filter(tryout=tryout, number__isnull=True, withdrawn_at=None)
        )
        SystemRandom().shuffle(without)
        free = _free_numbers(tryout, start)
        for candidate in without:
            candidate.number = next(free)
            candidate.save(update_fields=["number"])
    return len(without)


def _free_numbers(tryout: Tryout, start: int) -> Iterator[int]:
    """Numbers from ``start`` on that nobody has or had; Refused when there are no more."""
    taken = set(Candidate.objects.filter(tryout=tryout).values_list("number", flat=True))
    taken |= set(RetiredNumber.objects.filter(tryout=tryout).values_list("number", flat=True))
    yield from (n for n in range(max(1, start), MOST_NUMBER + 1) if n not in taken)
    raise Refused("There are no more numbers: start at a lower one.")


def replace_number(*, actor: User, candidate: Candidate) -> int:
    """Another number, such as for one that was lost or seen; nobody gets the old one again."""
    with recorded(actor, "replace number"):
        tryout = locked(candidate.tryout)
        candidate = Candidate.objects.get(pk=candidate.pk)
        if candidate.number is not None:
            RetiredNumber.objects.create(
                tryout=tryout, candidate=candidate, number=candidate.number
            )
        candidate.number = next(_free_numbers(tryout, FIRST_NUMBER))
        candidate.save(update_fields=["number"])
        return candidate.number


def check_in(*, actor: User, candidate: Candidate, at: datetime.datetime) -> Candidate:
    """They are here; whoever has no number yet gets the next one."""
    with recorded(actor, "check candidate in"):
        tryout = locked(candidate.tryout)
        candidate = Candidate.objects.select_related("person", "tryout").get(pk=candidate.pk)
        if candidate.withdrawn_at is not None:
            raise Refused(f"{candidate} withdrew: take them into the tryout again first.")
        if candidate.checked_in_at is None:
            candidate.checked_in_at = at
        if candidate.number is None:
            candidate.number = next(_free_numbers(tryout, FIRST_NUMBER))
        candidate.save()
    return candidate


def take_check_in_back(*, actor: User, candidate: Candidate) -> None:
    """They are not here after all."""
    with recorded(actor, "take check-in back"):
        candidate.checked_in_at = None
        candidate.save(update_fields=["checked_in_at"])


def note_ready(
    *, actor: User, candidate: Candidate, items: Iterable[ReadinessItem], shown: Iterable[int]
) -> None:
    """Which of the items shown (ids) the candidate has now."""
    has = {item.pk for item in items}
    with recorded(actor, "note readiness"):
        there = {r.item_id: r for r in ItemReady.objects.filter(candidate=candidate)}
        for pk in shown:
            if pk in has and pk not in there:
                ItemReady.objects.create(candidate=candidate, item_id=pk, noted_by=actor)
            elif pk not in has and pk in there:
                there[pk].delete()


def missing_items(
    candidates: Sequence[Candidate], tryout: Tryout, *, only_needed: bool = False
) -> dict[int, list[ReadinessItem]]:
    """Candidate's id -> the items they lack, in the list's order; for those who lack any.
    ``only_needed``: of those without which nobody marches."""
    items = [i for i in tryout.readiness_items.all() if i.needed_to_march or not only_needed]
    ready = set(
        ItemReady.objects.filter(candidate__in=[c.pk for c in candidates]).values_list(
            "candidate_id", "item_id"
        )
    )
    found = {c.pk: [i for i in items if (c.pk, i.pk) not in ready] for c in candidates}
    return {pk: lacks for pk, lacks in found.items() if lacks}


def recuse(*, actor: User, candidate: Candidate, evaluator: User) -> Recusal:
    """The evaluator declared a relation: they do not mark the candidate."""
    with recorded(actor, "recuse evaluator"):
        found, _ = Recusal.objects.get_or_create(candidate=candidate, evaluator=evaluator)
    return found


def lift_recusal(*, actor: User, recusal: Recusal) -> None:
    """It was a mistake."""
    with recorded(actor, "lift recusal"):
        recusal.delete()
