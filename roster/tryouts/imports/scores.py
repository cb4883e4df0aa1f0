"""Import of score sheets: marks of a tryout that were given on paper or elsewhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TypeVar

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Fault, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.names import plain
from roster.people.models import Season
from roster.tryouts import queries
from roster.tryouts.enums import Source
from roster.tryouts.imports.score_layout import COLUMNS, turned
from roster.tryouts.models import Mark, Panelist, Tryout, TryoutCriterion
from roster.tryouts.services.marking import Given, mark_words, read_mark, refuse_mark
from roster.tryouts.services.marks import counting, marks_of
from roster.tryouts.services.typing import by_number

T = TypeVar("T")


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Marks that are not there yet; one that is there otherwise is a fault, never overwritten."""
    tryout = queries.tryouts(season).filter(state="judging").first()
    if tryout is None:
        return Plan(faults=[Fault(0, "tryout", "No tryout takes marks now.")])
    return _Planner(mapped, tryout).plan()


class _Planner:
    def __init__(self, mapped: Mapped, tryout: Tryout) -> None:
        self.mapped, self.tryout = mapped, tryout
        self.result = Plan(basis=[tryout.pk])
        self.people = by_number(tryout)
        self.panelists = _named(
            [(name, p) for p in queries.panelists(tryout) for name in (p.code, p.user.name)]
        )
        self.sessions = _named([(s.name, s) for s in queries.sessions(tryout)])
        self.criteria = _named([(c.name, c) for c in queries.criteria(tryout)])
        self.there = {
            (
                it.mark.candidate_id,
                it.mark.criterion_id,
                it.mark.panelist_id,
                it.mark.session_id,
            ): it
            for it in counting(marks_of(tryout))
        }
        self.seen: dict[tuple[int, ...], int] = {}

    def plan(self) -> Plan:
        for record in self.mapped.records():
            if record["mark"]:
                line = self._line(record)
                if line is not None:
                    self.result.lines.append(line)
        return self.result

    def _line(self, record: Record) -> Line | None:
        given = self._given(record)
        if given is None:
            return None
        key = (given.candidate.pk, given.criterion.pk, given.panelist.pk, given.session.pk)
        label = f"{given.panelist}, {given.candidate.called}, {given.criterion}"
        if key in self.seen:
            self._fault(record, "mark", f"Row {self.seen[key]} has a mark of the same already.")
            return None
        self.seen[key] = record.cell("mark").row or record.number
        now = self.there.get(key)
        if now is not None and now.value != given.value:
            text = f"{mark_words(now.value)} is there already: correct that mark instead."
            self._fault(record, "mark", text)
            return None
        if now is not None:
            return Line(record.number, Action.SAME, label)
        change = FieldChange(str(given.criterion), "", mark_words(given.value))
        return Line(record.number, Action.ADD, label, (change,), lambda: self._save(given))

    def _save(self, given: Given) -> None:
        refuse_mark(self.tryout, given)
        Mark.objects.create(
            candidate=given.candidate,
            criterion=given.criterion,
            panelist=given.panelist,
            session=given.session,
            value=given.value,
            made_at=min(given.session.starts_at, timezone.now()),
            source=Source.FILE,
        )

    def _given(self, record: Record) -> Given | None:
        """What a row says; its faults told."""
        number = record["number"].removesuffix(".0").lstrip("#")
        candidate = self.people.get(number)
        if candidate is None:
            self._fault(record, "number", f"Nobody has the number {record['number']}.")
        panelist, criterion = self._heading(record)
        session = self._one(record, "session", self.sessions)
        value = self._mark(record)
        if candidate is None or panelist is None or criterion is None or session is None:
            return None
        if isinstance(value, Refused):
            return None
        given = Given(panelist, candidate, criterion, session, value)
        try:
            refuse_mark(self.tryout, given)
        except Refused as error:
            self._fault(record, "mark", error.message)
            return None
        return given

    def _mark(self, record: Record) -> Decimal | Refused | None:
        try:
            return read_mark(record["mark"])
        except ValueError as error:
            self._fault(record, "mark", str(error))
            return Refused(str(error))

    def _heading(self, record: Record) -> tuple[Panelist | None, TryoutCriterion | None]:
        """Evaluator and criterion, from their own columns or from the head of the mark's column,
        which may name one or both (“B Flanks”)."""
        heading = plain(record["heading"])
        panelist = self.panelists.get(plain(record["evaluator"])) or self.panelists.get(heading)
        criterion = self.criteria.get(plain(record["criterion"])) or self.criteria.get(heading)
        if panelist is None or criterion is None:
            for name, found in self.panelists.items():
                rest = heading.removeprefix(f"{name} ") if heading.startswith(f"{name} ") else ""
                rest = rest or (
                    heading.removesuffix(f" {name}") if heading.endswith(f" {name}") else ""
                )
                if rest in self.criteria:
                    panelist, criterion = panelist or found, criterion or self.criteria[rest]
        if panelist is None and len(set(self.panelists.values())) == 1:
            panelist = next(iter(self.panelists.values()))
        if criterion is None and len(self.criteria) == 1:
            criterion = next(iter(self.criteria.values()))
        if panelist is None:
            said = record["evaluator"] or record["heading"]
            self._fault(record, "evaluator", f"No evaluator “{said}” in {self.tryout}.")
        if criterion is None:
            said = record["criterion"] or record["heading"]
            self._fault(record, "criterion", f"No criterion “{said}” in {self.tryout}.")
        return panelist, criterion

    def _one(self, record: Record, key: str, known: Mapping[str, T]) -> T | None:
        """What a cell names; the only one where it says nothing."""
        text = record[key]
        found = known.get(plain(text)) if text else None
        if found is None and not text and len(known) == 1:
            return next(iter(known.values()))
        if found is None:
            told = f"No {key} “{text}”." if text else f"Which {key}? Add a column for it."
            self._fault(record, key, f"{told} There is {', '.join(map(str, known.values()))}.")
        return found

    def _fault(self, record: Record, key: str, text: str) -> None:
        self.result.faults.append(record.fault(key, text))


def _named(rows: Sequence[tuple[str, T]]) -> dict[str, T]:
    return {plain(name): row for name, row in rows if name}


KIND = register(
    ImportKind(
        "scores",
        "Score sheets",
        "Marks of the tryout that is under way: a row a mark, or a column a criterion or "
        "evaluator. Marks that are there already are never overwritten.",
        COLUMNS,
        plan,
        order=7,
        layout=turned,
    )
)
