"""Paper sheets, typed twice: what differs is shown, and nothing counts before both agree."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.tryouts import queries
from roster.tryouts.enums import Source
from roster.tryouts.models import (
    Candidate,
    GroupPlace,
    Mark,
    Panelist,
    RetiredNumber,
    Tryout,
    TryoutCriterion,
    TryoutSession,
    TypedSheet,
)
from roster.tryouts.services.marking import (
    Given,
    mark_words,
    read_mark,
    refuse_mark,
    write_mark,
)
from roster.tryouts.services.marks import counting
from roster.tryouts.services.setting_up import locked

Typed = Mapping[str, Mapping[str, str]]
"""number -> criterion's id -> what was typed"""


@dataclass(frozen=True)
class Difference:
    """A cell that was typed two ways."""

    number: str
    criterion: TryoutCriterion
    first: str
    second: str


def type_sheet(
    *,
    actor: User,
    session: TryoutSession,
    panelist: Panelist,
    name: str,
    typed: Typed,
    again: bool,
) -> TypedSheet:
    """Keep what was typed, the first or the second time; faults are told, nothing is lost."""
    with recorded(actor, "type sheet"):
        tryout = locked(session.tryout)
        sheet, _ = TypedSheet.objects.get_or_create(session=session, panelist=panelist, name=name)
        if sheet.saved_at is not None:
            raise Refused(f"{sheet} is saved already: correct single marks instead.")
        faults = list(faults_of(tryout, typed))
        if faults:
            raise Refused("Not kept yet. Please fix:", tuple(faults))
        rows = {
            n: {c: t.strip() for c, t in cells.items() if t.strip()} for n, cells in typed.items()
        }
        if again:
            sheet.second, sheet.second_by = rows, actor
        else:
            sheet.first, sheet.first_by = rows, actor
        sheet.save()
    return sheet


def faults_of(tryout: Tryout, typed: Typed) -> Iterable[str]:
    """What cannot be read: numbers that nobody has, and marks off the scale."""
    people = by_number(tryout)
    criteria = {str(c.pk): c for c in queries.criteria(tryout)}
    for number, cells in typed.items():
        if number not in people:
            yield f"Nobody has the number {number}."
        for pk, text in cells.items():
            if not text.strip():
                continue
            criterion = criteria[pk]
            try:
                value = read_mark(text)
            except ValueError as error:
                yield f"{number}, {criterion}: {error}"
                continue
            if value is not None and not criterion.bottom <= value <= criterion.top:
                yield (
                    f"{number}, {criterion}: {text} is not from {criterion.bottom} to "
                    f"{criterion.top}."
                )


def by_number(tryout: Tryout) -> dict[str, Candidate]:
    """Candidates by number, and by the numbers they had before."""
    old = RetiredNumber.objects.filter(tryout=tryout).select_related("candidate__tryout")
    people = {str(r.number): r.candidate for r in old}
    now = Candidate.objects.filter(tryout=tryout, number__isnull=False).select_related("tryout")
    return people | {str(c.number): c for c in now}


def differences(sheet: TypedSheet, criteria: Iterable[TryoutCriterion]) -> list[Difference]:
    """Cells that the two typings have otherwise; 7 and 7.0 are the same."""
    found = []
    columns = list(criteria)
    for number in dict.fromkeys([*sheet.first, *sheet.second]):
        for criterion in columns:
            key = str(criterion.pk)
            first = sheet.first.get(number, {}).get(key, "")
            second = sheet.second.get(number, {}).get(key, "")
            if _as_mark(first) != _as_mark(second):
                found.append(Difference(number, criterion, first, second))
    return found


def _as_mark(text: str) -> Decimal | str | None:
    """What a cell says; an empty one says nothing, which is not “not seen”."""
    return read_mark(text) if text else "nothing"


def settle_differences(
    *, actor: User, sheet: TypedSheet, chosen: Mapping[tuple[str, str], str]
) -> TypedSheet:
    """Looked up on the paper: what a cell (number, criterion's id) really says, in both typings."""
    with recorded(actor, "type sheet"):
        sheet = TypedSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
        faults = list(
            faults_of(sheet.session.tryout, {n: {c: text} for (n, c), text in chosen.items()})
        )
        if faults:
            raise Refused("Not kept yet. Please fix:", tuple(faults))
        for (number, criterion), text in chosen.items():
            for typed in (sheet.first, sheet.second):
                typed.setdefault(number, {})[criterion] = text.strip()
                if not text.strip():
                    del typed[number][criterion]
        sheet.save()
    return sheet


def save_sheet(*, actor: User, sheet: TypedSheet) -> int:
    """Write the marks of a sheet whose two typings agree; how many marks it has."""
    with recorded(actor, "save typed sheet"):
        tryout = locked(sheet.session.tryout)
        sheet = TypedSheet.objects.select_related("session__tryout", "panelist").get(pk=sheet.pk)
        criteria = list(queries.criteria(tryout))
        if sheet.first_by_id is None or sheet.second_by_id is None:
            raise Refused("Type it twice first.")
        if sheet.saved_at is not None:
            raise Refused("It is saved already.")
        if different := differences(sheet, criteria):
            raise Refused(f"{len(different)} cells differ: look them up on the paper first.")
        at = timezone.now()
        words = list(_words(tryout, sheet, criteria))
        _refuse_otherwise(sheet, words)
        for given in words:
            refuse_mark(tryout, given)
            write_mark(actor, given, at, Source.PAPER)
        sheet.saved_at = at
        sheet.save()
    return len(words)


def _words(
    tryout: Tryout, sheet: TypedSheet, criteria: Iterable[TryoutCriterion]
) -> Iterable[Given]:
    people, columns = by_number(tryout), list(criteria)
    for number, cells in sheet.first.items():
        for criterion in columns:
            text = cells.get(str(criterion.pk), "")
            if text:
                value = read_mark(text)
                yield Given(sheet.panelist, people[number], criterion, sheet.session, value)


def _refuse_otherwise(sheet: TypedSheet, words: Iterable[Given]) -> None:
    """The paper does not silently change what the evaluator said on a screen."""
    rows = Mark.objects.filter(session=sheet.session, panelist=sheet.panelist)
    there = {(it.mark.candidate_id, it.mark.criterion_id): it.value for it in counting(rows)}
    details = []
    for given in words:
        key = (given.candidate.pk, given.criterion.pk)
        if key in there and there[key] != given.value:
            details.append(
                f"{given.candidate.called}, {given.criterion}: {mark_words(there[key])} is there "
                f"already, the paper says {mark_words(given.value)}."
            )
    if details:
        raise Refused(
            "Some are marked otherwise already: correct those marks first.", tuple(details)
        )


def numbers_of(session: TryoutSession, panelist: Panelist) -> list[str]:
    """The numbers on an evaluator's sheets of a session, in their order."""
    rows = GroupPlace.objects.filter(group__session=session, group__panel__panelist=panelist)
    rows = rows.select_related("candidate").order_by("group__slot", "group__number", "order")
    return [place.candidate.called for place in rows if place.candidate.number]
