"""Erasing a person: their names and contacts go from everywhere, the counts stay true."""

from __future__ import annotations

import datetime
import json
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import Min, Q
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import recorded, unlocked
from bandops.lib.erasing.everywhere import blank_entries, scrub_tables
from bandops.lib.erasing.texts import Scrub
from bandops.lib.errors import Refused
from bandops.lib.imports.models import ImportUpload
from bandops.lib.outbox.models import Artifact
from roster.people.enums import MemberStatus
from roster.people.models import Member, Person
from roster.people.queries import going_on
from roster.people.services.accounts import is_last_director, shut_out
from roster.people.ties import ERASED

GONE = "(erased)"
FEWEST_DIGITS = 7
NAMED = ("legal_name", "used_name", "name")
OF_PERSON = ("legal_name", "used_name", "pronunciation", "pronouns", "email", "student_number")
OF_MEMBER = ("phone", "emergency_contact", "cleared_by")
OF_USER = ("email", "name")


@dataclass(frozen=True)
class Erased:
    """What went: rows by table, prints; ``left`` says which texts stay elsewhere, and why."""

    rows: dict[str, int]
    prints: int
    left: tuple[str, ...]


def hindrance(person: Person) -> str:
    """Why they cannot be erased now; empty when they can."""
    if person.erased_at is not None:
        return "They are erased already."
    if person.merged_into_id is not None:
        return "This entry is merged into another: erase that one."
    entries = _entries(person)
    here = Member.objects.filter(season__in=going_on(), person__in=entries)
    here = here.exclude(status=MemberStatus.LEFT)
    if (member := here.select_related("season").first()) is not None:
        this = "this season" if member.season.is_current else f"in {member.season}"
        return f"They are in the band {this}: release them first."
    if any(entry.user is not None and is_last_director(entry.user) for entry in entries):
        return "They are the season's only director: name another one first."
    return ""


def erase_person(*, actor: User | None, person: Person) -> Erased:
    """Scrub the person; Refused while they are in the band. Nothing brings them back: a backup of
    before is put through it again when it is restored (``erase_again``)."""
    if why := hindrance(person):
        raise Refused(why)
    with recorded(actor, "erase person"), unlocked():
        erased = _erase(Person.objects.select_for_update().get(pk=person.pk))
        transaction.on_commit(keep_list)
    return erased


def erase_again() -> int:
    """Erase whom the list on the disk names and the database still knows, after an older backup
    was restored; how many. A number may be somebody else's by then: the moment of the first entry
    tells."""
    keep_list()
    known = _list()
    count = 0
    for person in Person.objects.filter(pk__in=known, erased_at=None):
        if known[person.pk] == _first_entry(person):
            with recorded(None, "erase person"), unlocked():
                _erase(person)
            count += 1
    return count


def keep_list() -> None:
    """Have all who are erased on the disk, whichever backup the database comes from; written
    beside and moved over, so that a cut-off write loses nobody."""
    known = _list()
    new = Person.objects.exclude(erased_at=None).exclude(pk__in=known)
    more = {person.pk: _first_entry(person) for person in new}
    if not more:
        return
    path = _path()
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".erased-{secrets.token_hex(4)}")
    beside.write_text(json.dumps({str(pk): at for pk, at in sorted((known | more).items())}))
    beside.replace(path)


def _first_entry(person: Person) -> str:
    """When the person was first written: who has the same number in another database, has not."""
    entries = AuditEntry.objects.filter(table=Person._meta.db_table, row_id=str(person.pk))
    first = entries.order_by("id").values_list("at", flat=True).first()
    return first.isoformat() if first is not None else ""


def _entries(person: Person) -> list[Person]:
    """The person's entries: their own and those that were merged into it."""
    return list(Person.objects.filter(Q(pk=person.pk) | Q(merged_into=person)))


def _erase(person: Person) -> Erased:
    entries = _entries(person)
    members = list(Member.objects.filter(person__in=entries))
    accounts = [entry.user for entry in entries if entry.user is not None]
    name = f"Erased person {person.pk}"
    names, others = _texts(entries, members, accounts)
    shared = _also_others(names | others, entries)
    instead = dict.fromkeys(_spelled(names - shared), name) | dict.fromkeys(others - shared, GONE)
    for entry in entries:
        _blank_person(entry, name)
    for member in members:
        Member.objects.filter(pk=member.pk).update(**dict.fromkeys(OF_MEMBER, ""))
    for account in accounts:
        _blank_account(account, name)
    ERASED.ask(entries, members)
    ImportUpload.objects.all().delete()
    rows = scrub_tables(Scrub(instead)) if instead else {}
    blank_entries(entries, (*OF_PERSON, "search", "sort_key"), GONE)
    blank_entries(members, OF_MEMBER, GONE)
    blank_entries(accounts, OF_USER, GONE)
    for account in accounts:
        AuditEntry.objects.filter(actor_id=account.pk).update(actor_label=name)
    return Erased(dict(rows), _delete_prints(entries, members), tuple(sorted(shared)))


def _texts(
    entries: Iterable[Person], members: Iterable[Member], accounts: Iterable[User]
) -> tuple[set[str], set[str]]:
    """Full names, and addresses and phones, that were ever kept of them; the audit knows older
    ones. Only what is certainly theirs is looked for everywhere: a first name, a number or "Mom"
    may well be somebody else's, and goes from their own rows alone."""
    names, others = set(), set()
    for rows, columns in ((entries, OF_PERSON), (members, OF_MEMBER), (accounts, OF_USER)):
        for row in rows:
            kept = AuditEntry.objects.filter(table=row._meta.db_table, row_id=str(row.pk))
            said = [{c: getattr(row, c) for c in columns}]
            said += [side or {} for e in kept for side in (e.before, e.after)]
            for side in said:
                names |= {t for c in NAMED if " " in (t := _of(side, c))}
                others |= {t for t in (_of(side, "email"),) if "@" in t}
                others |= {t for t in (_of(side, "phone"),) if _digits(t) >= FEWEST_DIGITS}
    return names, others


def _of(side: Mapping[str, Any], column: str) -> str:
    return str(side.get(column) or "").strip()


def _digits(text: str) -> int:
    return sum(letter.isdigit() for letter in text)


def _spelled(names: Iterable[str]) -> set[str]:
    """As lists write them, too: the last word first."""
    found = set(names)
    for name in names:
        first, _, last = name.rpartition(" ")
        found.add(f"{last}, {first}")
    return found


def _also_others(texts: Iterable[str], entries: Iterable[Person]) -> set[str]:
    """Those that somebody else has, too, alone or in a longer one: a namesake keeps theirs."""
    others = Person.objects.exclude(pk__in=[entry.pk for entry in entries])
    shared = set()
    for text in texts:
        same = Q(legal_name__icontains=text) | Q(used_name__icontains=text) | Q(email=text)
        same |= Q(memberships__phone=text) | Q(memberships__emergency_contact__icontains=text)
        if others.filter(same).exists():
            shared.add(text)
    return shared


def _blank_person(person: Person, name: str) -> None:
    for column in OF_PERSON:
        setattr(person, column, "")
    person.legal_name, person.listed, person.share_contact = name, False, False
    person.erased_at = timezone.now()
    person.save()


def _blank_account(account: User, name: str) -> None:
    account.email, account.name = f"erased-{account.pk}@erased.invalid", name
    account.is_active = False
    account.set_unusable_password()
    shut_out(account)
    account.save()


def _delete_prints(entries: Iterable[Person], members: Iterable[Member]) -> int:
    """Prints made while they were known, up to the end of their last season, may show them:
    whoever needs one makes it again."""
    ids = [str(entry.pk) for entry in entries]
    known = AuditEntry.objects.filter(table=Person._meta.db_table, row_id__in=ids)
    prints = Artifact.objects.all()
    if first := known.filter(op=AuditEntry.Op.INSERT).aggregate(at=Min("at"))["at"]:
        prints = prints.filter(created_at__gte=first)
    if ends := max((member.season.ends for member in members), default=None):
        prints = prints.filter(created_at__date__lte=ends + datetime.timedelta(days=1))
    found = list(prints)
    for made in found:
        made.delete()
        transaction.on_commit(partial(made.file.storage.delete, str(made.file.name)))
    return len(found)


def _path() -> Path:
    return Path(settings.MEDIA_ROOT) / ".erased"


def _list() -> dict[int, str]:
    """Number -> moment of the first entry, of the persons that were erased here."""
    path = _path()
    if not path.exists():
        return {}
    return {int(pk): at for pk, at in json.loads(path.read_text()).items()}
