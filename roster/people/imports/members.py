"""Import of members: persons, what they play, clearance and eligibility."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import (
    Action,
    Fault,
    FieldChange,
    Line,
    Mapped,
    Plan,
    Record,
    too_long,
)
from bandops.lib.imports.tables import Oddity
from bandops.lib.imports.values import (
    looks_scientific,
    parse_date,
    parse_list,
    parse_whole,
    parse_yes_no,
)
from bandops.lib.names import clean_name, plain
from roster.people.enums import MemberStatus, Standing
from roster.people.imports.member_columns import (
    COLUMNS,
    LONGEST,
    MEMBER_TEXTS,
    OWN_ALL,
    PERSON_TEXTS,
    SEARCHED,
)
from roster.people.lookup import PartIndex, without_zeros
from roster.people.models import MOST_YEARS, Member, Part, Person, Season
from roster.people.services.people import Skill, set_qualifications
from roster.people.ties import Need, needs_of


@dataclass
class Wanted:
    """One row's values for the person, the member and their parts.

    Where the file has no column for it, the doubles or the own instruments stay.
    """

    person: dict[str, Any]
    member: dict[str, Any]
    main: Skill
    doubles: list[Skill]
    has_doubles: bool
    has_own: bool

    def skills(self, member: Member | None) -> tuple[Skill, list[Skill]]:
        """The main part and the doubles, each part once, with what the member keeps."""
        now = list(member.qualifications.all()) if member else []
        own = {q.part_id: q.own_instrument for q in now}
        there = [Skill(q.part, q.own_instrument) for q in now if not q.main]
        by_part = {s.part.pk: s for s in (self.doubles if self.has_doubles else there)}
        skills = [self.main, *(s for pk, s in by_part.items() if pk != self.main.part.pk)]
        if not self.has_own:
            skills = [Skill(s.part, own.get(s.part.pk, False)) for s in skills]
        return skills[0], skills[1:]


def legal_name(record: Record) -> str:
    """The one column, or first and last name in two."""
    return record["legal_name"] or f"{record['first_name']} {record['last_name']}".strip()


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Members by student number, else e-mail, else a name that only one person has."""
    if not {"legal_name", "last_name"} & mapped.mapping.keys():
        return Plan(
            faults=[Fault(0, "legal name", "No column for “legal name”: choose one above.")]
        )
    return _Planner(mapped, season, actor).plan()


class _Planner:
    def __init__(self, mapped: Mapped, season: Season, actor: User) -> None:
        self.mapped, self.season, self.actor = mapped, season, actor
        self.parts = PartIndex(season)
        self.result = Plan()
        people = list(Person.objects.all())
        self.by_number = {p.student_number: p for p in people if p.student_number}
        self.without_zeros = without_zeros(self.by_number)
        self.used_names = {(plain(p.legal_name), p.used_name) for p in people}
        self.by_email: dict[str, list[Person]] = {}
        self.by_name: dict[str, list[Person]] = {}
        for person in people:
            self.by_email.setdefault(person.email.lower(), []).append(person)
            self.by_name.setdefault(plain(person.legal_name), []).append(person)
        members = Member.objects.filter(season=season).select_related("person")
        self.members = {
            m.person_id: m for m in members.prefetch_related("qualifications__part__instrument")
        }
        self.taken: dict[int, int] = {}
        self.instruments = {
            plain(name)
            for part in self.parts.parts
            for name in (part.instrument.name, part.name, part.code)
        }
        self.needed: dict[int, list[Need]] = defaultdict(list)
        for need in needs_of(Member.objects.filter(season=season)):
            self.needed[need.member_id].append(need)

    def plan(self) -> Plan:
        records = list(self.mapped.records())
        self._warn_of_namesakes(records)
        numbers = Counter(r["student_number"] for r in records if r["student_number"])
        for record in records:
            number = record["student_number"]
            if numbers[number] > 1:
                self._fault(
                    record, "student_number", f"The number {number} comes {numbers[number]} times."
                )
            faults_before = len(self.result.faults)
            wanted = self._wanted(record)
            person = self._person(record)
            if wanted is None or len(self.result.faults) > faults_before:
                continue
            self.result.lines.append(self._line(record, wanted, person))
        return self.result

    def _fault(self, record: Record, key: str, message: str) -> None:
        self.result.faults.append(record.fault(key, message))

    def _warn_of_namesakes(self, records: list[Record]) -> None:
        names = Counter(plain(legal_name(r)) for r in records)
        for record in records:
            if legal_name(record) and names[plain(legal_name(record))] > 1:
                where = ", ".join(
                    str(r.number)
                    for r in records
                    if plain(legal_name(r)) == plain(legal_name(record)) and r is not record
                )
                message = (
                    f"{legal_name(record)} also stands in row {where}: two people, or one twice?"
                )
                self.result.warnings.append(record.fault("legal_name", message))

    def _person(self, record: Record) -> Person | None:
        """The person the row is about; None for a new one."""
        number, email = record["student_number"], record["email"].lower()
        person = self.by_number.get(number) if number else None
        if person is None and email:
            same = [p for p in self.by_email.get(email, []) if not (number and p.student_number)]
            person = same[0] if len(same) == 1 else None
        if person is None and not number:
            named = self.by_name.get(plain(legal_name(record)), [])
            if len(named) > 1:
                self._fault(
                    record,
                    "legal_name",
                    f"{len(named)} people have this name: add a student number.",
                )
            person = named[0] if len(named) == 1 else None
        if person is None:
            self._check_new(record)
        else:
            if person.pk in self.taken:
                self._fault(
                    record, "legal_name", f"Row {self.taken[person.pk]} is about the same person."
                )
            self.taken[person.pk] = record.number
        return person

    def _check_new(self, record: Record) -> None:
        """Somebody new who may be somebody known: a lost zero, or a name that is there."""
        number = record["student_number"]
        known = self.without_zeros.get(number.lstrip("0"))
        if known and number != known:
            message = f"“{number}” is new, but {known} is there: did a spreadsheet drop zeros?"
            self._fault(record, "student_number", message)
            return
        if self.by_name.get(plain(legal_name(record))):
            message = f"Another person called {legal_name(record)} is there: this adds a new one."
            self.result.warnings.append(record.fault("legal_name", message))

    def _wanted(self, record: Record) -> Wanted | None:
        for key, text in (("legal_name", legal_name(record)), ("main_part", record["main_part"])):
            if not text:
                title = next(c.title for c in COLUMNS if c.key == key)
                self._fault(record, key, f"The {title} is missing.")
        self._check_texts(record)
        person: dict[str, Any] = {k: record[k] for k in PERSON_TEXTS if record.has(k)}
        person["legal_name"] = clean_name(legal_name(record))
        self._complete_used_name(record, person)
        for key in {"used_name", "pronunciation", "pronouns"} & person.keys():
            person[key] = clean_name(person[key])
        member: dict[str, Any] = {k: record[k] for k in MEMBER_TEXTS if record.has(k)}
        self._read(record, "listed", lambda t: person.update(listed=parse_yes_no(t, True)))
        self._read(
            record,
            "years_marched",
            lambda t: member.update(years_marched=_years(t)),
        )
        self._read(record, "status", lambda t: member.update(status=_status(t)))
        for name in ("cleared", "eligible"):
            if record[name]:
                self._read(record, name, lambda t, n=name: member.update(_standing(n, t)))
        skills = self._skills(record)
        if skills is None:
            return None
        main, doubles = skills
        has_own = record.has("own_instruments")
        return Wanted(person, member, main, doubles, record.has("doubles"), has_own)

    def _complete_used_name(self, record: Record, person: dict[str, Any]) -> None:
        """A first name alone, as people fill such columns, gets the last name."""
        words, used = person["legal_name"].split(), person.get("used_name", "").strip()
        if (plain(person["legal_name"]), used) in self.used_names:
            return
        if used and len(used.split()) == 1 and len(words) > 1 and used != words[-1]:
            last = record["last_name"] or words[-1]
            person["used_name"] = f"{used} {last}"
            message = f"“{used}” becomes {used} {last}; write the whole name if it is another."
            self.result.warnings.append(record.fault("used_name", message))

    def _read(self, record: Record, key: str, use: Any) -> None:
        if record.has(key):
            try:
                use(record[key])
            except ValueError as error:
                self._fault(record, key, str(error))

    def _check_texts(self, record: Record) -> None:
        number = record.cell("student_number")
        if looks_scientific(number.text):
            message = (
                f"“{number.text}” may be a code that a spreadsheet changed; it is kept as written."
            )
            self.result.warnings.append(record.fault("student_number", message))
        elif number.oddity in (Oddity.NUMBER, Oddity.DATE):
            message = (
                "The cell is a number or a date: leading zeros may be lost. Format it as text."
            )
            self.result.warnings.append(record.fault("student_number", message))
        if record["email"]:
            try:
                validate_email(record["email"])
            except ValidationError:
                self._fault(record, "email", f"“{record['email']}” is not an e-mail address.")
        self.result.faults += too_long(record, LONGEST)
        name, used = clean_name(legal_name(record)), clean_name(record["used_name"])
        search = plain(f"{used} {name} {record['student_number']}")
        short = max(len(legal_name(record)), len(record["used_name"])) <= LONGEST["legal_name"]
        if short and (max(len(name), len(used)) > LONGEST["legal_name"] or len(search) > SEARCHED):
            self._fault(record, "legal_name", "Too long once its letters are written out.")

    def _skills(self, record: Record) -> tuple[Skill, list[Skill]] | None:
        owned = {plain(name) for name in parse_list(record["own_instruments"])}
        for name in parse_list(record["own_instruments"]):
            if plain(name) not in self.instruments | OWN_ALL:
                self._fault(record, "own_instruments", f"No instrument or part “{name}”.")

        def skill(part: Part) -> Skill:
            names = {plain(part.instrument.name), plain(part.name), plain(part.code)}
            return Skill(part, bool(owned & names) or bool(owned & OWN_ALL))

        found: list[Skill] = []
        for key, texts in (
            ("main_part", [record["main_part"]]),
            ("doubles", parse_list(record["doubles"])),
        ):
            for text in filter(None, texts):
                try:
                    found.append(skill(self.parts.find(text)))
                except ValueError as error:
                    self._fault(record, key, str(error))
        if not record["main_part"] or not found:
            return None
        return found[0], found[1:]

    def _line(self, record: Record, wanted: Wanted, person: Person | None) -> Line:
        member = self.members.get(person.pk) if person else None
        self.result.basis.append(person.pk if person else None)
        changes = _changes(person, member, wanted) if person else []
        if member is None:
            changes += _values_of_new(person, wanted)
        else:
            self._check_places(record, member, wanted)
        action = Action.ADD if member is None else Action.CHANGE if changes else Action.SAME

        def do() -> None:
            if action is not Action.SAME:
                _save(self.actor, self.season, person, member, wanted)

        name = wanted.person.get("used_name") or wanted.person["legal_name"]
        return Line(record.number, action, name, tuple(changes), do)

    def _check_places(self, record: Record, member: Member, wanted: Wanted) -> None:
        """Who holds a spot or an alternate's place keeps playing what it needs, and leaves only
        through the release, which empties events to come."""
        needs = self.needed.get(member.pk, [])
        if needs and wanted.member.get("status") == MemberStatus.LEFT:
            message = f"{member} {needs[0].claim}: release them on their page."
            self._fault(record, "status", message)
        main, doubles = wanted.skills(member)
        plays = {skill.part.pk for skill in (main, *doubles)}
        for need in needs:
            if need.part.pk not in plays:
                message = (
                    f"{member} {need.claim}, which needs {need.part}: give up the place first."
                )
                self._fault(record, "main_part", message)


def _years(text: str) -> int:
    """Years marched: a number, or the school year as most bands write it."""
    classes = {"fr": 0, "freshman": 0, "so": 1, "sophomore": 1, "jr": 2, "junior": 2}
    classes |= {"sr": 3, "senior": 3, "rookie": 0, "new": 0}
    word = text.strip().rstrip(".").lower()
    return classes[word] if word in classes else parse_whole(text, 0, most=MOST_YEARS)


def _status(text: str) -> str:
    word = text.strip().lower() or MemberStatus.ACTIVE.value
    if word not in MemberStatus.values:
        raise ValueError(f"“{text}” is not active, on leave or left.")
    return word


def _standing(name: str, text: str) -> dict[str, Any]:
    """yes, no, or 'until 2026-10-20' (that day included)."""
    word = text.strip().lower()
    try:
        value = Standing.YES if parse_yes_no(word, True) else Standing.NO
        return {name: value.value, f"{name}_until": None}
    except ValueError:
        pass
    day = parse_date(word.removeprefix("until").removeprefix("through").strip())
    if day is None:
        raise ValueError(f"“{text}” is neither yes, no nor until a date (until 2026-10-20).")
    return {name: Standing.UNTIL.value, f"{name}_until": day}


def _changes(person: Person, member: Member | None, wanted: Wanted) -> list[FieldChange]:
    changes = []
    pairs: list[tuple[Any, dict[str, Any]]] = [(person, wanted.person)]
    if member is not None:
        pairs.append((member, wanted.member))
    for target, values in pairs:
        for name, value in values.items():
            old = getattr(target, name)
            if old != value:
                changes.append(
                    FieldChange(name.replace("_", " "), _shown(name, old), _shown(name, value))
                )
    if member is not None:
        main, doubles = wanted.skills(member)
        now = {(q.part.code, q.main, q.own_instrument) for q in member.qualifications.all()}
        new = {(s.part.code, s is main, s.own_instrument) for s in (main, *doubles)}
        if now != new:
            changes.append(FieldChange("parts", _parts(now), _parts(new)))
    return changes


def _values_of_new(person: Person | None, wanted: Wanted) -> list[FieldChange]:
    """What a new member gets that is not there without being said."""
    values: list[tuple[Any, dict[str, Any]]] = [(Member(), wanted.member)]
    if person is None:
        values.insert(0, (Person(), wanted.person))
    changes = [
        FieldChange(name.replace("_", " "), "", _shown(name, value))
        for empty, given in values
        for name, value in given.items()
        if name != "legal_name" and value != getattr(empty, name)
    ]
    main, doubles = wanted.skills(None)
    parts = {(s.part.code, s is main, s.own_instrument) for s in (main, *doubles)}
    return [*changes, FieldChange("parts", "", _parts(parts))]


def _shown(name: str, value: Any) -> str:
    if name == "emergency_contact":
        return "…" if value else ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def _parts(rows: set[tuple[str, bool, bool]]) -> str:
    ordered = sorted(rows, key=lambda row: (not row[1], row[0]))
    return ", ".join(code + (" (own)" if own else "") for code, _, own in ordered)


def _save(
    actor: User, season: Season, person: Person | None, member: Member | None, wanted: Wanted
) -> None:
    person = person or Person()
    for name, value in wanted.person.items():
        setattr(person, name, value)
    person.save()
    main, doubles = wanted.skills(member)
    if member is None:
        member = Member(person=person, season=season)
    now = (member.cleared, member.cleared_until)
    for name, value in wanted.member.items():
        setattr(member, name, value)
    if (member.cleared, member.cleared_until) != now:
        member.cleared_by = str(actor)[:100]
    member.save()
    set_qualifications(actor=actor, member=member, main=main, doubles=doubles)


KIND = register(
    ImportKind(
        "members",
        "Members",
        "One row a member. A member is known by the student number, else the e-mail address, "
        "else a name that only one person has.",
        COLUMNS,
        plan,
        order=2,
    )
)
