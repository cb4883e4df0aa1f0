"""An evaluator marks: one word about one criterion at a time, kept whatever its order."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.tryouts import queries
from roster.tryouts.enums import Source
from roster.tryouts.models import (
    Candidate,
    Mark,
    MarkChange,
    Panelist,
    Recusal,
    Tryout,
    TryoutCriterion,
    TryoutGroup,
    TryoutSession,
)
from roster.tryouts.services.marks import counting, words_of
from roster.tryouts.services.setting_up import locked

NOT_SEEN = "not seen"


def read_mark(text: str) -> Decimal | None:
    """A number, or None for not seen; ValueError for anything else."""
    text = text.strip().replace(",", ".")
    if text.casefold() in {NOT_SEEN, "ns", "n/s", "-", "–"}:
        return None
    try:
        value = Decimal(text)
    except InvalidOperation:
        raise ValueError(f"“{text}” is not a mark.") from None
    if not value.is_finite() or value < 0 or value >= 10_000:
        raise ValueError(f"“{text}” is not a mark.")
    return value.quantize(Decimal("0.01"))


@dataclass(frozen=True)
class Given:
    """One word: who says what about which criterion of whom, in which session. ``value`` None:
    not seen."""

    panelist: Panelist
    candidate: Candidate
    criterion: TryoutCriterion
    session: TryoutSession
    value: Decimal | None


def give_mark(
    *, actor: User, given: Given, at: datetime.datetime | None, source: Source = Source.SCREEN
) -> Mark:
    """Write a mark, or a change of one, made at ``at``; the same word sent twice is kept once, and
    an older one that arrives later changes nothing that counts. ``at`` None: now."""
    with recorded(actor, "mark candidate"):
        tryout = locked(given.candidate.tryout)
        refuse_mark(tryout, given)
        return write_mark(actor, given, at or timezone.now(), source)


def write_mark(actor: User, given: Given, at: datetime.datetime, source: Source) -> Mark:
    """The rows alone, inside an action that has checked them."""
    mark, is_new = Mark.objects.get_or_create(
        candidate=given.candidate,
        criterion=given.criterion,
        panelist=given.panelist,
        session=given.session,
        defaults={"value": given.value, "made_at": at, "source": source},
    )
    if is_new:
        return mark
    said = words_of(mark, mark.changes.select_related("correction"))
    if (given.value, at) in {(word.value, word.at) for word in said}:
        return mark
    if said[-1].value == given.value and said[-1].at <= at:
        return mark
    MarkChange.objects.create(
        mark=mark, before=said[-1].value, value=given.value, by=actor, made_at=at
    )
    return mark


def refuse_mark(tryout: Tryout, given: Given) -> None:
    """Refused where the mark may not be given."""
    if not tryout.is_open:
        state = "not begun" if not tryout.is_frozen else "ended"
        raise Refused(f"Judging has {state} in {tryout}: the mark is not saved.")
    if tryout.pk not in (given.criterion.tryout_id, given.session.tryout_id):
        raise Refused("What is marked just changed: open the page again.")
    if given.panelist.tryout_id != tryout.pk:
        raise Refused("You don't evaluate in this tryout.")
    refuse_off_scale(given.criterion, given.value)
    refuse_recused(given.panelist, given.candidate)


def refuse_off_scale(criterion: TryoutCriterion, value: Decimal | None) -> None:
    """Refused for a mark that is not on the criterion's scale."""
    if value is not None and not criterion.bottom <= value <= criterion.top:
        raise Refused(f"{criterion}: marks go from {criterion.bottom} to {criterion.top}.")


def refuse_recused(panelist: Panelist, candidate: Candidate) -> None:
    """Refused for somebody who declared a relation."""
    if Recusal.objects.filter(candidate=candidate, evaluator=panelist.user_id).exists():
        raise Refused(f"You declared a relation to {candidate.called}: others mark them.")


@dataclass(frozen=True)
class CriterionLine:
    """A criterion of a look with the evaluator's own mark: ``said`` is its text, empty where
    nothing is said yet."""

    criterion: TryoutCriterion
    said: str

    @property
    def is_short(self) -> bool:
        """A scale short enough for a button each."""
        return len(self.criterion.steps) <= 21


@dataclass(frozen=True)
class OwnLook:
    """A candidate as an evaluator sees them: by number, with their own marks."""

    candidate: Candidate
    lines: tuple[CriterionLine, ...]
    recused: bool

    @property
    def marked(self) -> int:
        return sum(bool(line.said) for line in self.lines)

    @property
    def is_done(self) -> bool:
        return self.recused or self.marked == len(self.lines)


def plain_number(value: Decimal) -> str:
    """8.50 as it was given: 8.5."""
    return f"{value.normalize():f}"


def mark_words(value: Decimal | None) -> str:
    """'8.5', or 'not seen'."""
    return NOT_SEEN if value is None else plain_number(value)


def own_looks(panelist: Panelist, session: TryoutSession, people: list[Candidate]) -> list[OwnLook]:
    """Some candidates of a session with what the evaluator said of each."""
    criteria = list(queries.criteria(panelist.tryout))
    rows = Mark.objects.filter(panelist=panelist, session=session, candidate__in=people)
    said = {(c.mark.candidate_id, c.mark.criterion_id): mark_words(c.value) for c in counting(rows)}
    recused = set(
        Recusal.objects.filter(evaluator=panelist.user_id, candidate__in=people).values_list(
            "candidate_id", flat=True
        )
    )
    return [
        OwnLook(
            person,
            tuple(CriterionLine(c, said.get((person.pk, c.pk), "")) for c in criteria),
            person.pk in recused,
        )
        for person in people
    ]


@dataclass(frozen=True)
class OwnGroup:
    """A group on an evaluator's list: how many of its candidates are marked."""

    group: TryoutGroup
    looks: tuple[OwnLook, ...]

    @property
    def done(self) -> int:
        return sum(look.is_done for look in self.looks)

    @property
    def is_done(self) -> bool:
        return self.done == len(self.looks)


def own_groups(panelist: Panelist) -> list[OwnGroup]:
    """The evaluator's groups in the order of the timetable, each with its looks."""
    rows = queries.groups(panelist.tryout).filter(panel__panelist=panelist)
    groups = list(rows.prefetch_related("places__candidate__tryout"))
    by_session: dict[int, dict[int, OwnLook]] = {}
    for group in groups:
        if group.session_id not in by_session:
            people = {
                place.candidate_id: place.candidate
                for g in groups
                if g.session_id == group.session_id
                for place in g.places.all()
            }
            looks = own_looks(panelist, group.session, list(people.values()))
            by_session[group.session_id] = {look.candidate.pk: look for look in looks}
    return [
        OwnGroup(g, tuple(by_session[g.session_id][p.candidate_id] for p in g.places.all()))
        for g in groups
    ]
