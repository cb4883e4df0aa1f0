"""Import of backups and of practice on other spots."""

from __future__ import annotations

from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.bounds import MOST_ORDER
from bandops.lib.imports.holding import looks_like_name
from bandops.lib.imports.kinds import ImportKind, register
from bandops.lib.imports.plan import Action, Column, FieldChange, Line, Mapped, Plan, Record
from bandops.lib.imports.values import parse_whole
from bandops.lib.imports.words import Choice, UnknownWord, WordKind, Words, register_words, word_key
from bandops.lib.names import plain
from drill.lineup.models import Backup
from drill.rehearsals.models import MOST_PRACTISED, Practice
from drill.rehearsals.services.practice import sets_practised
from drill.shows.models import Show
from roster.people.lookup import MemberIndex
from roster.people.models import Member, Qualification, Season
from roster.ranks.lookup import SpotIndex, looks_like_spot
from roster.ranks.models import Spot

WHO = ("name", "student", "marcher", "student number", "student id", "id", "who")
SPOTS = ("spot no", "spot number", "position", "pos")
BACKUP_COLUMNS = (
    Column("spot", "spot", "such as 4-11", True, SPOTS, looks_like_spot),
    Column("order", "order", "1 is the first backup", True, ("backup", "cover", "backup no", "no")),
    Column("member", "member", "student number, email or name", True, WHO, looks_like_name),
)
PRACTICE_COLUMNS = (
    Column("member", "member", "student number, email or name", True, WHO, looks_like_name),
    Column("spot", "spot", "such as 4-11", True, SPOTS, looks_like_spot),
    Column("show", "show", "", True),
    Column("sets", "sets practiced", "how many sets of the show", True, ("sets", "sets practised")),
)

SHOW = "show"


def _show_choices(season: Season) -> list[Choice]:
    return [Choice(show.name, show.name) for show in Show.objects.filter(season=season)]


register_words(WordKind(SHOW, "show", _show_choices))


class _Reader:
    """Reads the cells both kinds share and collects the faults."""

    def __init__(self, season: Season, words: Words) -> None:
        self.words = words
        self.members, self.spots = MemberIndex(season, words.of("member")), SpotIndex(season, words)
        self.shows = {plain(s.name): s for s in Show.objects.filter(season=season)}
        qualified = Qualification.objects.filter(member__season=season)
        self.plays = set(qualified.values_list("member_id", "part_id"))
        self.result = Plan()

    def check_plays(self, record: Record, member: Member, spot: Spot) -> bool:
        """False, with a fault, for somebody who does not play what the spot needs."""
        if (member.pk, spot.part_id) in self.plays:
            return True
        message = f"{member} does not play {spot.part}, which {spot} needs."
        self.result.faults.append(record.fault("member", message))
        return False

    def member(self, record: Record) -> Any:
        return self.attempt(record, "member", lambda: self.members.find(record["member"]))

    def spot(self, record: Record) -> Any:
        return self.attempt(record, "spot", lambda: self.spots.find(record.cell("spot")))

    def show(self, record: Record) -> Any:
        return self.attempt(record, "show", lambda: self._show(record["show"]))

    def _show(self, text: str) -> Show:
        show = self.shows.get(plain(self.words.of(SHOW).get(word_key(text), text)))
        if show is None:
            raise UnknownWord(SHOW, text, f"No show “{text}” this season.")
        return show

    def attempt(self, record: Record, key: str, find: Any) -> Any:
        try:
            return find()
        except ValueError as error:
            self.result.faults.append(record.fault(key, error))
            return None

    def add(self, record: Record, label: str, row: Practice, old: int | None, sets: int) -> None:
        """A line for a row made or found; ``old`` is what is known so far, the log's sets too."""
        self.result.basis.append((row.member_id, row.spot_id, row.show_id))
        changes = () if old in (None, sets) else (FieldChange("sets", str(old), str(sets)),)
        action = Action.ADD if old is None else Action.CHANGE if changes else Action.SAME

        def do() -> None:
            if action is Action.SAME:
                return
            row.sets = sets
            row.full_clean(validate_constraints=False)
            row.save()

        self.result.lines.append(Line(record.number, action, label, changes, do))


def plan_backups(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Backups of the spots the file names are replaced by the file's."""
    reader = _Reader(season, mapped.words)
    backups = Backup.objects.filter(spot__rank__season=season)
    now = {
        (c.spot_id, c.member_id): c
        for c in backups.select_related("member__person", "spot__rank").order_by("spot", "order")
    }
    named: dict[tuple[int, int], int] = {}
    taken: set[tuple[int, int]] = set()
    for record in mapped.records():
        member, spot = reader.member(record), reader.spot(record)
        order = reader.attempt(
            record, "order", lambda r=record: parse_whole(r["order"], least=1, most=MOST_ORDER)
        )
        if member is None or spot is None or order is None:
            continue
        if not reader.check_plays(record, member, spot):
            continue
        pair = (spot.pk, member.pk)
        if pair in named or (spot.pk, order) in taken:
            message = f"{spot} already has this backup or a backup of order {order}."
            reader.result.faults.append(record.fault("order", message))
            continue
        named[pair] = order
        taken.add((spot.pk, order))
        reader.result.lines.append(_backup_line(record, member, spot, order, now.get(pair)))
    spots = {spot for spot, _ in named}
    gone = [c for pair, c in now.items() if c.spot_id in spots and pair not in named]
    for backup in gone:
        change = FieldChange("order", str(backup.order), "")
        label = f"{backup.member} is no longer a backup for {backup.spot}"
        reader.result.lines.append(Line(0, Action.CHANGE, label, (change,)))
    reader.result.after.append(lambda: _write_backups(named, now, gone))
    return reader.result


def _backup_line(
    record: Record, member: Member, spot: Spot, order: int, old: Backup | None
) -> Line:
    same = old is not None and old.order == order
    action = Action.SAME if same else Action.CHANGE if old else Action.ADD
    changes = (FieldChange("order", str(old.order), str(order)),) if old and not same else ()
    return Line(record.number, action, f"{member} is a backup for {spot}, {order}", changes)


def _write_backups(
    named: dict[tuple[int, int], int], now: dict[tuple[int, int], Backup], gone: list[Backup]
) -> None:
    """Orders are unique at a spot, so whoever changes leaves before anybody is written."""
    moved = [pair for pair, order in named.items() if pair in now and now[pair].order != order]
    leaving = [c.pk for c in gone] + [now[pair].pk for pair in moved]
    Backup.objects.filter(pk__in=leaving).delete()
    Backup.objects.bulk_create(
        Backup(spot_id=spot, member_id=member, order=order)
        for (spot, member), order in named.items()
        if (spot, member) in moved or (spot, member) not in now
    )


def plan_practice(mapped: Mapped, season: Season, actor: User) -> Plan:
    """Sets practised, by member, spot and show."""
    reader = _Reader(season, mapped.words)
    seen: dict[tuple[int, int, int], int] = {}
    now = {
        (p.member_id, p.spot_id, p.show_id): p
        for p in Practice.objects.filter(member__season=season)
    }
    known = sets_practised(season)
    for record in mapped.records():
        member, spot, show = reader.member(record), reader.spot(record), reader.show(record)
        sets = reader.attempt(
            record, "sets", lambda r=record: parse_whole(r["sets"], most=MOST_PRACTISED)
        )
        if member is None or spot is None or show is None or sets is None:
            continue
        key = (member.pk, spot.pk, show.pk)
        if key in seen:
            message = f"{member} on {spot} for {show} is also in row {seen[key]}."
            reader.result.faults.append(record.fault("member", message))
            continue
        seen[key] = record.number
        row = now.get(key) or Practice(member=member, spot=spot, show=show)
        label = f"{member} on {spot}, {show}: {sets} sets"
        reader.add(record, label, row, known.get(key), sets)
    return reader.result


BACKUPS = register(
    ImportKind(
        "backups",
        "Backups",
        "Who backs up which spot.",
        BACKUP_COLUMNS,
        plan_backups,
        order=8,
        together=("spot",),
    )
)
PRACTICE = register(
    ImportKind(
        "practice",
        "Practice",
        "How many sets members have practiced on spots they do not hold.",
        PRACTICE_COLUMNS,
        plan_practice,
        order=9,
    )
)
