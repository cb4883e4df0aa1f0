"""Import of members: persons, what they play, clearance and eligibility."""

from __future__ import annotations

import datetime
from collections import Counter
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.reading import Oddity
from bandops.lib.imports.values import (
    looks_scientific,
    parse_date,
    parse_list,
    parse_whole,
    parse_yes_no,
)
from bandops.lib.names import clean_name, plain
from roster.enums import MemberStatus, Standing
from roster.imports.lookup import PartIndex
from roster.models import Member, Part, Person, Season
from roster.services.people import Skill, set_qualifications

COLUMNS = (
    Column(
        "student_number",
        "student number",
        "kept exactly as written, leading zeros too",
        False,
        ("number", "student id", "id", "student no", "id number"),
    ),
    Column("legal_name", "legal name", "", True, ("name", "full name", "student", "student name")),
    Column(
        "used_name",
        "used name",
        "the name to call and print",
        False,
        ("preferred name", "goes by", "nickname"),
    ),
    Column("pronunciation", "pronunciation", "", False, ("how to say it", "say")),
    Column("pronouns", "pronouns", ""),
    Column(
        "email",
        "email",
        "where invitations and notices go",
        False,
        ("e-mail", "mail", "email address"),
    ),
    Column("phone", "phone", "", False, ("cell", "mobile", "phone number")),
    Column("years_marched", "years marched", "0 for new members", False, ("years", "year in band")),
    Column(
        "main_part",
        "main part",
        "code or name of a part",
        True,
        ("part", "plays", "main", "instrument", "horn"),
    ),
    Column(
        "doubles",
        "also plays",
        "more parts, separated by semicolons",
        False,
        ("doubles", "doubles on", "second instrument"),
    ),
    Column(
        "own_instruments",
        "own instruments",
        "instruments they bring themselves",
        False,
        ("owns", "own instrument"),
    ),
    Column("status", "status", "active, on leave or left"),
    Column("listed", "listed", "no: not on public lists"),
    Column("emergency_contact", "emergency contact", "for staff only", False, ("emergency",)),
    Column("cleared", "cleared", "yes, no, or until a date (that day included); never why"),
    Column("eligible", "eligible", "yes, no, or until a date (that day included); never why"),
)
PERSON_TEXTS = ("legal_name", "used_name", "pronunciation", "pronouns", "email", "student_number")
MEMBER_TEXTS = ("phone", "emergency_contact")


@dataclass
class Wanted:
    """One row's values for the person, the member and their parts."""

    person: dict[str, Any]
    member: dict[str, Any]
    main: Skill
    doubles: list[Skill]
    has_doubles: bool


def plan(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Members by student number, else e-mail, else a name that only one person has."""
    return _Planner(mapped, season, actor).plan()


class _Planner:
    def __init__(self, mapped: Mapped, season: Season, actor: User) -> None:
        self.mapped, self.season, self.actor = mapped, season, actor
        self.parts = PartIndex(season)
        self.result = Plan()
        people = list(Person.objects.all())
        self.by_number = {p.student_number: p for p in people if p.student_number}
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
        names = Counter(plain(r["legal_name"]) for r in records)
        for record in records:
            if names[plain(record["legal_name"])] > 1:
                where = ", ".join(
                    str(r.number)
                    for r in records
                    if plain(r["legal_name"]) == plain(record["legal_name"]) and r is not record
                )
                message = (
                    f"{record['legal_name']} also stands in row {where}: two people, or one twice?"
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
            named = self.by_name.get(plain(record["legal_name"]), [])
            if len(named) > 1:
                self._fault(
                    record,
                    "legal_name",
                    f"{len(named)} people have this name: add a student number.",
                )
            person = named[0] if len(named) == 1 else None
        if person is not None:
            if person.pk in self.taken:
                self._fault(
                    record, "legal_name", f"Row {self.taken[person.pk]} is about the same person."
                )
            self.taken[person.pk] = record.number
        return person

    def _wanted(self, record: Record) -> Wanted | None:
        for key in ("legal_name", "main_part"):
            if not record[key]:
                title = next(c.title for c in COLUMNS if c.key == key)
                self._fault(record, key, f"The {title} is missing.")
        self._check_texts(record)
        person: dict[str, Any] = {k: record[k] for k in PERSON_TEXTS if record.has(k)}
        person["legal_name"] = clean_name(record["legal_name"])
        if "used_name" in person:
            person["used_name"] = clean_name(person["used_name"])
        member: dict[str, Any] = {k: record[k] for k in MEMBER_TEXTS if record.has(k)}
        self._read(record, "listed", lambda t: person.update(listed=parse_yes_no(t, True)))
        self._read(
            record,
            "years_marched",
            lambda t: member.update(years_marched=parse_whole(t, 0, most=20)),
        )
        self._read(record, "status", lambda t: member.update(status=_status(t)))
        for name in ("cleared", "eligible"):
            self._read(record, name, lambda t, n=name: member.update(_standing(n, t)))
        skills = self._skills(record)
        if skills is None:
            return None
        main, doubles = skills
        return Wanted(person, member, main, doubles, record.has("doubles"))

    def _read(self, record: Record, key: str, use: Any) -> None:
        if record.has(key):
            try:
                use(record[key])
            except ValueError as error:
                self._fault(record, key, str(error))

    def _check_texts(self, record: Record) -> None:
        for key in ("legal_name", "used_name", "student_number"):
            if record.cell(key).oddity is Oddity.FORMULA:
                self.result.warnings.append(
                    record.fault(key, "This is a formula; it is kept as text and never run.")
                )
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
        for key, most in (
            ("legal_name", 200),
            ("used_name", 200),
            ("student_number", 40),
            ("phone", 40),
        ):
            if len(record[key]) > most:
                self._fault(record, key, f"Longer than {most} characters.")

    def _skills(self, record: Record) -> tuple[Skill, list[Skill]] | None:
        owned = {plain(name) for name in parse_list(record["own_instruments"])}

        def skill(part: Part) -> Skill:
            names = {plain(part.instrument.name), plain(part.name), plain(part.code)}
            return Skill(part, bool(owned & names) or bool(owned & {"yes", "own"}))

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
        changes = _changes(person, member, wanted) if person else []
        action = Action.ADD if member is None else Action.CHANGE if changes else Action.SAME

        def do() -> None:
            if action is not Action.SAME:
                _save(self.actor, self.season, person, member, wanted)

        name = wanted.person.get("used_name") or wanted.person["legal_name"]
        return Line(record.number, action, name, tuple(changes), do)


def _status(text: str) -> str:
    word = text.strip().lower() or MemberStatus.ACTIVE.value
    if word not in MemberStatus.values:
        raise ValueError(f"“{text}” is not active, on leave or left.")
    return word


def _standing(name: str, text: str) -> dict[str, Any]:
    """yes, no, or 'until 2026-10-20' (that day included)."""
    word = text.strip().lower()
    until: datetime.date | None = None
    if word not in ("", "yes", "no"):
        until = parse_date(word.removeprefix("until").removeprefix("through").strip())
    value = Standing.UNTIL if until else Standing(word or "yes")
    return {name: value.value, f"{name}_until": until}


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
        now = {(q.part.code, q.main, q.own_instrument) for q in member.qualifications.all()}
        doubles = wanted.doubles if wanted.has_doubles else _kept_doubles(member, wanted.main)
        new = {(wanted.main.part.code, True, wanted.main.own_instrument)}
        new |= {(s.part.code, False, s.own_instrument) for s in doubles}
        if now != new:
            changes.append(FieldChange("parts", _parts(now), _parts(new)))
    return changes


def _shown(name: str, value: Any) -> str:
    if name == "emergency_contact":
        return "…" if value else ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def _parts(rows: set[tuple[str, bool, bool]]) -> str:
    ordered = sorted(rows, key=lambda row: (not row[1], row[0]))
    return ", ".join(code + (" (own)" if own else "") for code, _, own in ordered)


def _kept_doubles(member: Member, main: Skill) -> list[Skill]:
    rows = member.qualifications.all()
    return [
        Skill(q.part, q.own_instrument) for q in rows if not q.main and q.part_id != main.part.pk
    ]


def _save(
    actor: User, season: Season, person: Person | None, member: Member | None, wanted: Wanted
) -> None:
    person = person or Person()
    for name, value in wanted.person.items():
        setattr(person, name, value)
    person.save()
    doubles = wanted.doubles
    if member is None:
        member = Member(person=person, season=season)
    elif not wanted.has_doubles:
        doubles = _kept_doubles(member, wanted.main)
    for name, value in wanted.member.items():
        setattr(member, name, value)
    member.save()
    set_qualifications(actor=actor, member=member, main=wanted.main, doubles=doubles)


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
