"""Import of members: persons, what they play, clearance and eligibility."""

from __future__ import annotations

from collections import Counter, defaultdict

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Fault, Line, Mapped, Plan, Record
from bandops.lib.names import clean_name
from bandops.lib.ties import merged
from roster.people.entries.columns import COLUMNS
from roster.people.entries.names import name_text
from roster.people.entries.people import PeopleIndex, twice_in_file
from roster.people.entries.rows import RowReader, Wanted
from roster.people.enums import MemberStatus
from roster.people.imports.member_changes import changes_of, save_member, values_of_new
from roster.people.lookup import PartIndex
from roster.people.models import Member, Person, Season
from roster.people.services.people import MAY_MARCH
from roster.people.ties import MARCHES_NEXT, Need, follow, needs_of


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
        self.result = Plan()
        self.people = PeopleIndex(Person.objects.prefetch_related("memberships"))
        parts = PartIndex(season, mapped.words.of("part"))
        people = self.people.people.values()
        self.reader = RowReader(parts, people, self.result, mapped.words)
        members = Member.objects.filter(season=season).select_related("person")
        self.members = {
            m.person_id: m for m in members.prefetch_related("qualifications__part__instrument")
        }
        self.taken: dict[int, int] = {}
        self.needed: dict[int, list[Need]] = defaultdict(list)
        for need in needs_of(Member.objects.filter(season=season)):
            self.needed[need.member_id].append(need)
        self.marches = merged(MARCHES_NEXT.ask(season))
        self.stopped: list[int] = []
        self.result.after.append(self._follow)

    def plan(self) -> Plan:
        records = list(self.mapped.records())
        self.result.warnings += twice_in_file(records)
        numbers = Counter(r["student_number"] for r in records if r["student_number"])
        for record in records:
            number = record["student_number"]
            if numbers[number] > 1:
                self.reader.fault(
                    record, "student_number", f"The number {number} comes {numbers[number]} times."
                )
            faults_before = len(self.result.faults)
            wanted = self.reader.wanted(record)
            person = self._person(record)
            if wanted is None or len(self.result.faults) > faults_before:
                continue
            self.result.lines.append(self._line(record, wanted, person))
        return self.result

    def _person(self, record: Record) -> Person | None:
        """The person the row is about; None for a new one."""
        person, unclear = self.people.find(record)
        if unclear:
            self.reader.fault(record, "legal_name", unclear)
        if person is None:
            self._check_new(record)
        else:
            if person.pk in self.taken:
                self.reader.fault(
                    record, "legal_name", f"Row {self.taken[person.pk]} is about the same person."
                )
            self.taken[person.pk] = record.number
        return person

    def _check_new(self, record: Record) -> None:
        """Somebody new who may be somebody known: a lost zero, or what two people seldom share."""
        number = record["student_number"]
        known = self.people.without_zeros.get(number.lstrip("0"))
        if known and number != known:
            message = f"“{number}” is new, but {known} is there: did a spreadsheet drop zeros?"
            self.reader.fault(record, "student_number", message)
            return
        self.result.warnings += self.people.may_be(record)

    def _line(self, record: Record, wanted: Wanted, person: Person | None) -> Line:
        member = self.members.get(person.pk) if person else None
        if person is not None:
            self.people.settle(person, record, wanted.person)
        self.result.basis.append(person.pk if person else None)
        changes = changes_of(person, member, wanted) if person else []
        if member is None:
            changes += values_of_new(person, wanted, clean_name(name_text(record)))
        else:
            self._check_places(record, member, wanted)
            self._warn_of_lineups(record, member, wanted)
        action = Action.ADD if member is None else Action.CHANGE if changes else Action.SAME

        def do() -> None:
            if action is Action.SAME:
                return
            saved, less = save_member(self.actor, self.season, person, member, wanted)
            if less:
                self.stopped.append(saved.pk)

        name = wanted.person.get("used_name") or wanted.person.get("legal_name") or str(person)
        return Line(record.number, action, name, tuple(changes), do)

    def _follow(self) -> None:
        follow(self.actor, self.season, self.stopped)

    def _warn_of_lineups(self, record: Record, member: Member, wanted: Wanted) -> None:
        """Published lineups follow whoever may march less after the import."""
        events = self.marches.get(member.pk)
        given = wanted.member
        changed = [n for n in MAY_MARCH if n in given and given[n] != getattr(member, n)]
        main, doubles = wanted.skills(member)
        kept = {skill.part.pk for skill in (main, *doubles)}
        lost = [q.part for q in member.qualifications.all() if q.part_id not in kept]
        if events and (changed or lost):
            message = (
                f"{member} marches in {', '.join(events)}: where they no longer may, a new "
                "revision goes out without them."
            )
            column = "main_part" if lost else changed[0].removesuffix("_until")
            self.result.warnings.append(record.fault(column, message, grave=True))

    def _check_places(self, record: Record, member: Member, wanted: Wanted) -> None:
        """Who holds a spot or an alternate's place keeps playing what it needs, and leaves only
        through the release, which empties events to come."""
        needs = self.needed.get(member.pk, [])
        if needs and wanted.member.get("status") == MemberStatus.LEFT:
            message = f"{member} {needs[0].claim}: release them on their page."
            self.reader.fault(record, "status", message)
        main, doubles = wanted.skills(member)
        plays = {skill.part.pk for skill in (main, *doubles)}
        for need in needs:
            if need.part.pk not in plays:
                message = f"{member} {need.claim}, which needs {need.part}: give that up first."
                self.reader.fault(record, "main_part", message)


KIND = register(
    ImportKind(
        "members",
        "Members",
        "One row per member. Members are matched by student number, else by email address, "
        "else by a name that only one person has.",
        COLUMNS,
        plan,
        order=2,
    )
)
