"""Erasing a person: their names and contacts go from everywhere, the counts stay true."""

from __future__ import annotations

import datetime
import json
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.db.models import Min, Q
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.api.tokens import revoke_all
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import recorded, unlocked
from bandops.lib.erasing.everywhere import scrub_tables
from bandops.lib.erasing.texts import Scrub
from bandops.lib.errors import Refused
from bandops.lib.imports.models import ImportUpload
from bandops.lib.outbox.models import Artifact
from roster.people.enums import MemberStatus
from roster.people.models import Member, Person
from roster.people.ties import ACCOUNT_SHUT

SHORTEST = 3
"""a text of fewer letters is no name to look for everywhere: "Al" is in too much"""
GONE = "(erased)"
NAMES = {"legal_name", "used_name", "name"}
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
    here = Member.objects.filter(person__in=_entries(person), season__is_current=True)
    if here.exclude(status=MemberStatus.LEFT).exists():
        return "They are in the band this season: release them first."
    return ""


def erase_person(*, actor: User | None, person: Person) -> Erased:
    """Scrub the person; Refused while they are in the band. Nothing brings them back: a backup of
    before is put through it again when it is restored (``erase_again``)."""
    if why := hindrance(person):
        raise Refused(why)
    # First on the disk: whatever happens to the database, a restore knows of it.
    _keep_in_list(person.pk)
    with recorded(actor, "erase person"), unlocked():
        return _erase(Person.objects.select_for_update().get(pk=person.pk))


def erase_again() -> int:
    """Erase whom the list on the disk names and the database still knows, after an older backup
    was restored; how many."""
    again = Person.objects.filter(pk__in=_list(), erased_at=None)
    count = 0
    for person in again:
        with recorded(None, "erase person"), unlocked():
            _erase(person)
        count += 1
    return count


def _entries(person: Person) -> list[Person]:
    """The person's entries: their own and those that were merged into it."""
    return list(Person.objects.filter(Q(pk=person.pk) | Q(merged_into=person)))


def _erase(person: Person) -> Erased:
    entries = _entries(person)
    members = list(Member.objects.filter(person__in=entries))
    accounts = [entry.user for entry in entries if entry.user is not None]
    found = _texts(entries, members, accounts)
    name = f"Erased person {person.pk}"
    shared = _also_others(found, entries)
    scrub = Scrub({t: name if is_name else GONE for t, is_name in found.items()})
    for entry in entries:
        _blank_person(entry, name)
    for member in members:
        Member.objects.filter(pk=member.pk).update(**dict.fromkeys(OF_MEMBER, ""))
    for account in accounts:
        _blank_account(account, name)
    ImportUpload.objects.all().delete()
    everywhere = Scrub({t: new for t, new in scrub.instead.items() if t not in shared})
    rows = scrub_tables(everywhere) if everywhere.instead else {}
    _scrub_own_entries(entries, members, accounts, scrub)
    return Erased(dict(rows), _delete_prints(entries, members), tuple(sorted(shared)))


def _texts(
    entries: Iterable[Person], members: Iterable[Member], accounts: Iterable[User]
) -> dict[str, bool]:
    """Every text that was ever kept of them -> whether it is a name; the audit knows older ones."""
    found: dict[str, bool] = {}
    for rows, columns in ((entries, OF_PERSON), (members, OF_MEMBER), (accounts, OF_USER)):
        for row in rows:
            kept = AuditEntry.objects.filter(table=row._meta.db_table, row_id=str(row.pk))
            said = [{c: getattr(row, c) for c in columns}]
            said += [side or {} for e in kept for side in (e.before, e.after)]
            for side in said:
                for column in columns:
                    text = str(side.get(column) or "").strip()
                    if column not in ("pronouns", "cleared_by") and len(text) >= SHORTEST:
                        found[text] = found.get(text, False) or column in NAMES
    return found


def _also_others(texts: Iterable[str], entries: Iterable[Person]) -> set[str]:
    """Those that somebody else has, too: a namesake keeps theirs."""
    own = [entry.pk for entry in entries]
    shared = set()
    for text in texts:
        same = Q(legal_name=text) | Q(used_name=text) | Q(email=text)
        members = Q(memberships__phone=text) | Q(memberships__emergency_contact=text)
        if Person.objects.exclude(pk__in=own).filter(same | members).exists():
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
    account.session_round += 1
    account.set_unusable_password()
    account.save()
    revoke_all(account)
    ACCOUNT_SHUT.ask(account)


def _scrub_own_entries(
    entries: Iterable[Person], members: Iterable[Member], accounts: Iterable[User], scrub: Scrub
) -> None:
    """What the audit says of their own rows goes whole, also what namesakes share."""
    for rows, columns in ((entries, OF_PERSON), (members, OF_MEMBER), (accounts, OF_USER)):
        for row in rows:
            kept = AuditEntry.objects.filter(table=row._meta.db_table, row_id=str(row.pk))
            for entry in kept:
                entry.before = _without(entry.before, columns)
                entry.after = _without(entry.after, columns)
                entry.save()
    for account in accounts:
        own = AuditEntry.objects.filter(actor_id=account.pk)
        for label in own.order_by().values_list("actor_label", flat=True).distinct():
            own.filter(actor_label=label).update(actor_label=scrub.text(label))


def _without(row: dict[str, object] | None, columns: Iterable[str]) -> dict[str, object] | None:
    if row is None:
        return None
    gone = {*columns, "search", "sort_key"}
    return {c: GONE if c in gone and value else value for c, value in row.items()}


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


def _list() -> list[int]:
    """The persons that were erased here, whichever backup the database comes from."""
    path = _path()
    return list(json.loads(path.read_text())) if path.exists() else []


def _keep_in_list(pk: int) -> None:
    """Written beside and moved over: a cut-off write loses nobody."""
    path = _path()
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f".erased-{secrets.token_hex(4)}")
    beside.write_text(json.dumps(sorted({*_list(), pk})))
    beside.replace(path)
