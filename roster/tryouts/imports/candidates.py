"""Import of candidates: read as people are, with wanted parts in order and what they have."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, Fault, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import YES_NO, parse_list, parse_yes_no
from bandops.lib.names import plain
from roster.people.entries.columns import COLUMNS as OF_MEMBERS
from roster.people.entries.names import name_text
from roster.people.entries.people import PeopleIndex, twice_in_file
from roster.people.entries.rows import RowReader, Wanted
from roster.people.lookup import PART_HEADS, PartIndex
from roster.people.models import Part, Person, Season
from roster.tryouts import queries
from roster.tryouts.enums import TryoutState
from roster.tryouts.models import Candidate, ItemReady, Tryout
from roster.tryouts.services.candidates import write_wishes

SHARED = (
    "student_number",
    "legal_name",
    "first_name",
    "last_name",
    "used_name",
    "pronunciation",
    "pronouns",
    "email",
    "years_marched",
    "listed",
)
WANTS, OTHERS = "main_part", "doubles"
COLUMNS = (
    *(c for c in OF_MEMBERS if c.key in SHARED),
    Column(
        WANTS,
        "first choice",
        "code or name of the part they try for",
        True,
        ("part", "wants", "trying out for", "choice 1", "1st choice", "section", *PART_HEADS),
        next(c for c in OF_MEMBERS if c.key == "main_part").holds,
    ),
    Column(
        OTHERS,
        "other choices",
        "more parts in their own order, separated by semicolons",
        False,
        ("second choice", "2nd choice", "choice 2", "also tries for", "alternate instrument"),
    ),
    Column("may_lead", "may lead", "yes or no", False, ("leader", "leadership")),
    Column("height", "height", "in cm, only if they want it considered", False, ("height cm",)),
    Column(
        "has",
        "has",
        "readiness items they have, separated by semicolons; a column a readiness item, headed by "
        "its name, works as well",
        False,
        ("forms in", "turned in", "ready"),
    ),
)


def tryout_now(season: Season) -> Tryout | None:
    """The newest tryout that takes candidates."""
    return queries.tryouts(season).exclude(state=TryoutState.DECIDED).first()


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """People are known as in an import of members; each becomes a candidate of the newest tryout
    that is not decided."""
    tryout = tryout_now(season)
    if tryout is None:
        return Plan(faults=[Fault(0, "tryout", "There is no tryout yet: make one under Tryouts.")])
    if not {"legal_name", "last_name"} & mapped.mapping.keys():
        return Plan(
            faults=[Fault(0, "legal name", "No column for “legal name”: choose one above.")]
        )
    return _Planner(mapped, season, actor, tryout).plan()


@dataclass(frozen=True)
class _Row:
    """What one row of the file says, and who it is about where they are known: ``values`` of the
    candidate, ``has``: readiness item (id) -> whether they have it."""

    person: Person | None
    candidate: Candidate | None
    of_person: dict[str, Any]
    values: dict[str, Any]
    wishes: list[Part]
    has: dict[int, bool]


class _Planner:
    def __init__(self, mapped: Mapped, season: Season, actor: User, tryout: Tryout) -> None:
        self.mapped, self.actor, self.tryout = mapped, actor, tryout
        self.result = Plan(basis=[tryout.pk])
        self.people = PeopleIndex(Person.objects.prefetch_related("memberships"))
        parts = PartIndex(season, mapped.words.of("part"))
        self.reader = RowReader(parts, self.people.people.values(), self.result, mapped.words)
        self.yes_no = mapped.words.of(YES_NO.kind)
        self.candidates = {c.person_id: c for c in queries.candidates(tryout)}
        self.items = list(tryout.readiness_items.all())
        self.by_name = {plain(item.name): item for item in self.items}
        used = set(mapped.mapping.values())
        self.item_columns = {
            at: self.by_name[plain(header)]
            for at, header in enumerate(mapped.table.headers)
            if at not in used and plain(header) in self.by_name
        }
        self.ready = set(
            ItemReady.objects.filter(candidate__tryout=tryout).values_list(
                "candidate_id", "item_id"
            )
        )
        self.taken: dict[int, int] = {}

    def plan(self) -> Plan:
        records = list(self.mapped.records())
        self.result.warnings += twice_in_file(records)
        numbers = Counter(r["student_number"] for r in records if r["student_number"])
        for record in records:
            number = record["student_number"]
            if numbers[number] > 1:
                text = f"The number {number} comes {numbers[number]} times."
                self.reader.fault(record, "student_number", text)
            before = len(self.result.faults)
            wanted = self.reader.wanted(record)
            person = self._person(record)
            values, has = self._more(record), self._items(record)
            if wanted is not None and len(self.result.faults) == before:
                self.result.lines.append(self._line(record, wanted, person, values, has))
        return self.result

    def _person(self, record: Record) -> Person | None:
        person, unclear = self.people.find(record)
        if unclear:
            self.reader.fault(record, "legal_name", unclear)
        if person is None:
            self.result.warnings += self.people.may_be(record)
            return None
        if person.pk in self.taken:
            text = f"Row {self.taken[person.pk]} is about the same person."
            self.reader.fault(record, "legal_name", text)
        self.taken[person.pk] = record.number
        return person

    def _more(self, record: Record) -> dict[str, Any]:
        """What only candidates have: leading, height."""
        found: dict[str, Any] = {}
        if record["may_lead"]:
            try:
                found["may_lead"] = parse_yes_no(record["may_lead"], False, self.yes_no)
            except ValueError as error:
                self.reader.fault(record, "may_lead", error)
        if record["height"]:
            text = record["height"].lower().removesuffix("cm").strip()
            if text.isdecimal() and 90 <= int(text) <= 250:
                found["height"] = int(text)
            else:
                problem = f"“{record['height']}” is not a height from 90 to 250 cm."
                self.reader.fault(record, "height", problem)
        return found

    def _items(self, record: Record) -> dict[int, bool]:
        """Readiness item -> whether they have it; items the row says nothing about are left."""
        found: dict[int, bool] = {}
        for name in parse_list(record["has"]):
            item = self.by_name.get(plain(name))
            if item is None:
                self.reader.fault(
                    record, "has", f"No readiness item “{name}”: add it in the set-up."
                )
            else:
                found[item.pk] = True
        for at, item in self.item_columns.items():
            cell = record.row.cell(at).text.strip()
            if not cell:
                continue
            try:
                found[item.pk] = parse_yes_no(cell, False, self.yes_no)
            except ValueError as error:
                header = self.mapped.table.headers[at]
                self.result.faults.append(Fault(record.number, header, str(error)))
        return found

    def _line(
        self,
        record: Record,
        wanted: Wanted,
        person: Person | None,
        values: dict[str, Any],
        has: dict[int, bool],
    ) -> Line:
        if person is not None:
            self.people.settle(person, record, wanted.person)
        main, others = wanted.skills(None)
        years = {k: v for k, v in wanted.member.items() if k == "years_marched"}
        row = _Row(
            person,
            self.candidates.get(person.pk) if person else None,
            wanted.person,
            years | values,
            [main.part, *(skill.part for skill in others)],
            has,
        )
        changes = self._changes(row)
        self.result.basis.append(person.pk if person else None)
        action = Action.ADD if row.candidate is None else Action.CHANGE if changes else Action.SAME

        def do() -> None:
            if action is not Action.SAME:
                self._save(row)

        name = row.of_person.get("used_name") or row.of_person.get("legal_name")
        return Line(record.number, action, name or name_text(record), tuple(changes), do)

    def _changes(self, row: _Row) -> list[FieldChange]:
        changes = [
            FieldChange(name.replace("_", " "), str(getattr(known, name)), str(value))
            for known, values in ((row.person, row.of_person), (row.candidate, row.values))
            for name, value in values.items()
            if known is not None and getattr(known, name) != value
        ]
        wanted = row.candidate.wanted if row.candidate else []  # type: ignore[attr-defined]
        now = [wish.part for wish in wanted]
        if now != row.wishes:
            changes.append(FieldChange("wants", _names(now), _names(row.wishes)))
        by_pk = {item.pk: item for item in self.items}
        for pk, has in row.has.items():
            had = row.candidate is not None and (row.candidate.pk, pk) in self.ready
            if had != has:
                changes.append(
                    FieldChange(by_pk[pk].name, "yes" if had else "", "yes" if has else "no")
                )
        return changes

    def _save(self, row: _Row) -> None:
        person = row.person or Person()
        for name, value in row.of_person.items():
            setattr(person, name, value)
        person.save()
        candidate = row.candidate or Candidate(tryout=self.tryout, person=person)
        for name, value in row.values.items():
            setattr(candidate, name, value)
        candidate.save()
        write_wishes(candidate, row.wishes)
        for pk, has in row.has.items():
            rows = ItemReady.objects.filter(candidate=candidate, item_id=pk)
            if has and not rows.exists():
                ItemReady.objects.create(candidate=candidate, item_id=pk, noted_by=self.actor)
            elif not has:
                rows.delete()


def _names(parts: list[Part]) -> str:
    return ", then ".join(part.name for part in parts)


KIND = register(
    ImportKind(
        "candidates",
        "Candidates",
        "One row per candidate of the newest tryout. People are found as in an import of members; "
        "evaluators never see the names.",
        COLUMNS,
        plan,
        order=6,
        guessed=False,
    )
)
