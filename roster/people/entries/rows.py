"""One row of the import of members: what it wants, and what is wrong with it."""

from __future__ import annotations

import datetime
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from bandops.lib.imports.columns import too_long
from bandops.lib.imports.plan import Plan, Record
from bandops.lib.imports.tables import Oddity
from bandops.lib.imports.values import (
    YES_NO,
    looks_scientific,
    parse_date,
    parse_list,
    parse_whole,
    parse_yes_no,
)
from bandops.lib.imports.words import Known, UnknownWord, Words, word_key
from bandops.lib.names import clean_name, plain
from bandops.lib.person_names import (
    PersonName,
    in_capitals,
    read_name,
)
from roster.people.entries.columns import (
    LONGEST,
    MEMBER_TEXTS,
    OWN_ALL,
    PERSON_TEXTS,
    SEARCHED,
)
from roster.people.entries.names import marks_told, name_of, name_text
from roster.people.entries.words import STATUS, YEARS
from roster.people.enums import MemberStatus, Standing
from roster.people.lookup import PartIndex
from roster.people.models import MOST_YEARS, Member, Part, Person
from roster.people.services.people import Skill


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


def _years(text: str, known: Known) -> int:
    """Years marched: a number, or the school year as most bands write it."""
    if not any(c.isalpha() for c in text) and word_key(text) not in known:
        return parse_whole(text, 0, most=MOST_YEARS)
    return int(YEARS.find(text, known, f"“{text}” is not a whole number."))


def _status(text: str, known: Known) -> str:
    message = f"“{text}” is not active, on leave or left."
    return STATUS.find(text, known, message) if text else MemberStatus.ACTIVE.value


def _standing(name: str, text: str, known: Known) -> dict[str, Any]:
    """yes, no, or 'until 2026-10-20' (that day included)."""
    try:
        value = Standing.YES if parse_yes_no(text, True, known) else Standing.NO
    except UnknownWord as unknown:
        return {name: Standing.UNTIL.value, f"{name}_until": _until(text, unknown)}
    return {name: value.value, f"{name}_until": None}


def _until(text: str, unknown: UnknownWord) -> datetime.date:
    """The day of 'until 2026-10-20'; a text without any figure is a word to be asked about."""
    word = text.lower().removeprefix("until").removeprefix("through").strip()
    message = f"“{text}” is not yes, no or until a date (until 2026-10-20)."
    if not any(c.isdecimal() for c in word):
        raise UnknownWord(unknown.kind, text, message, unknown.choices)
    day = parse_date(word)
    if day is None:
        raise ValueError(message)
    return day


class RowReader:
    """Reads rows one by one; faults and warnings go to the plan."""

    def __init__(
        self, parts: PartIndex, people: Collection[Person], result: Plan, words: Words
    ) -> None:
        self.parts, self.result = parts, result
        self.used_names = {(plain(p.legal_name), p.used_name) for p in people}
        self.legal_names = {p.legal_name for p in people}
        self.words = words
        self.yes_no = words.of(YES_NO.kind)
        self.instruments = {
            plain(name)
            for part in parts.parts
            for name in (part.instrument.name, part.name, part.code)
        }

    def wanted(self, record: Record) -> Wanted | None:
        """The row's values; None where they do not make a member."""
        for key, text in (("legal_name", name_text(record)), ("main_part", record["main_part"])):
            if not text:
                title = next(c.title for c in record.mapped.columns if c.key == key)
                self.fault(record, key, f"The {title} is missing.")
        self._check_texts(record)
        person: dict[str, Any] = {k: record[k] for k in PERSON_TEXTS if record.has(k)}
        self._read_names(record, person)
        for key in {"used_name", "pronunciation", "pronouns"} & person.keys():
            person[key] = clean_name(person[key])
        member: dict[str, Any] = {k: record[k] for k in MEMBER_TEXTS if record.has(k)}
        self._read(
            record, "listed", lambda t: person.update(listed=parse_yes_no(t, True, self.yes_no))
        )
        years, status = self.words.of(YEARS.kind), self.words.of(STATUS.kind)
        self._read(
            record,
            "years_marched",
            lambda t: member.update(years_marched=_years(t, years)),
        )
        self._read(record, "status", lambda t: member.update(status=_status(t, status)))
        for name in ("cleared", "eligible"):
            if record[name]:
                self._read(
                    record, name, lambda t, n=name: member.update(_standing(n, t, self.yes_no))
                )
        skills = self._skills(record)
        if skills is None:
            return None
        main, doubles = skills
        has_own = record.has("own_instruments")
        return Wanted(person, member, main, doubles, record.has("doubles"), has_own)

    def _read_names(self, record: Record, person: dict[str, Any]) -> None:
        """The name as it is called, and the name used; names that are stored so stay so."""
        written, used = clean_name(name_text(record)), clean_name(record["used_name"])
        name = name_of(record)
        self.result.warnings += marks_told(record)
        stored = written in self.legal_names
        person["legal_name"] = written if stored else clean_name(name.called)
        if in_capitals(written) and not stored:
            message = "Names in all caps are changed to normal case: check them."
            self.result.warnings.append(record.fault("legal_name", message))
        if used and (plain(person["legal_name"]), used) not in self.used_names:
            person["used_name"] = self._complete(record, name, used)
        elif not used and name.nickname and not stored:
            person["used_name"] = clean_name(name.used)

    def _complete(self, record: Record, name: PersonName, text: str) -> str:
        """A first name alone, as people fill such columns, gets the last name."""
        used = clean_name(read_name(text).called)
        if " " in used or not (name.given and name.family) or used == name.family:
            return used
        message = f"“{used}” becomes {used} {name.family}; write the whole name if it is another."
        self.result.warnings.append(record.fault("used_name", message))
        return f"{used} {name.family}"

    def _read(self, record: Record, key: str, use: Any) -> None:
        if record.has(key):
            try:
                use(record[key])
            except ValueError as error:
                self.fault(record, key, error)

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
                self.fault(record, "email", f"“{record['email']}” is not an email address.")
        self.result.faults += too_long(record, LONGEST)
        name, used = clean_name(name_text(record)), clean_name(record["used_name"])
        search = plain(f"{used} {name} {record['student_number']}")
        short = max(len(name_text(record)), len(record["used_name"])) <= LONGEST["legal_name"]
        if short and (max(len(name), len(used)) > LONGEST["legal_name"] or len(search) > SEARCHED):
            self.fault(record, "legal_name", "Too long once its letters are written out.")

    def _skills(self, record: Record) -> tuple[Skill, list[Skill]] | None:
        owned = {plain(name) for name in parse_list(record["own_instruments"])}
        for name in parse_list(record["own_instruments"]):
            if plain(name) not in self.instruments | OWN_ALL:
                self.fault(record, "own_instruments", f"No instrument or part “{name}”.")

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
                    self.fault(record, key, error)
        if not record["main_part"] or not found:
            return None
        return found[0], found[1:]

    def fault(self, record: Record, key: str, problem: str | ValueError) -> None:
        """A fault of the row's cell of a column."""
        self.result.faults.append(record.fault(key, problem))
