"""What people add to the ground floor: whose actions the history shows, the words of files, and
who may march less after something was taken back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.db.models import Model

from bandops.lib.accounts.models import User
from bandops.lib.api.ties import VIEWER_OF
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.ties import KEPT_BATCHES, REVERSED, ROWS_ABOUT, STAFF_OF
from bandops.lib.imports.words import FORGET, KEEP, KEPT, Answer, Kept
from bandops.lib.outbox.ties import EACH_MINUTE
from roster.people import queries
from roster.people.enums import Role
from roster.people.models import KeptWord, Member, Qualification, RoleGrant, Season
from roster.people.services.erasing import erase_again
from roster.people.services.words import forget_word, keep_words
from roster.people.ties import follow
from roster.people.viewer import Viewer, viewer_of

MOST_NAMED, MOST_DIGITS = 50, 18


VIEWER_OF.join(viewer_of)


@STAFF_OF.join
def staff_of(viewer: Viewer) -> list[int]:
    """The accounts that are director, staff or equipment manager this season."""
    kept = (Role.DIRECTOR, Role.STAFF, Role.EQUIPMENT_MANAGER)
    grants = RoleGrant.objects.filter(season=viewer.season, role__in=kept)
    return list(grants.values_list("user_id", flat=True))


@ROWS_ABOUT.join
def people_called(viewer: Viewer, text: str) -> list[Model]:
    """The season's members that the text names, and their persons; a figure is a member's own
    number, as pages link it."""
    found = queries.members(viewer.this_season)
    if text.isdecimal() and text.isascii():
        found = found.filter(pk=int(text)) if len(text) < MOST_DIGITS else found.none()
    else:
        found = queries.search_members(found, text)
    members = list(found.select_related("person")[:MOST_NAMED])
    return [*members, *(member.person for member in members)]


@KEPT.join
def kept(season: Season) -> list[Kept]:
    """The words of the season's files."""
    words = KeptWord.objects.filter(season=season)
    return [Kept(word.kind, word.text, word.value, word.label) for word in words]


@KEEP.join
def keep(actor: User, season: Season, answers: Sequence[Answer]) -> None:
    """What words mean is kept with the season."""
    keep_words(actor=actor, season=season, answers=answers)


@FORGET.join
def forget(actor: User, season: Season, kind: str, text: str) -> None:
    """The season asks again what a word means."""
    forget_word(actor=actor, season=season, kind=kind, text=text)


@REVERSED.join
def follow_members(actor: User, entries: list[AuditEntry]) -> None:
    """Members whose status, standing or parts went back may march less than a moment ago."""
    ids: dict[int, set[int]] = {}
    touched = {int(e.row_id) for e in entries if e.table == Member._meta.db_table}
    parts = [e for e in entries if e.table == Qualification._meta.db_table]
    touched |= {int((e.before or e.after or {})["member_id"]) for e in parts}
    for pk, season in Member.objects.filter(pk__in=touched).values_list("pk", "season_id"):
        ids.setdefault(season, set()).add(pk)
    for found in Season.objects.filter(pk__in=ids):
        follow(actor, found, ids[found.pk])


@KEPT_BATCHES.join
def stay_done(batches: Iterable[str]) -> set[str]:
    """Who was erased stays erased; which season is shown, and who directs the band, is changed on
    pages that ask who does it."""
    kept = ("erase person", "let old contacts go", "make season current", "hand over")
    entries = AuditEntry.objects.filter(batch__in=list(batches), action__in=kept)
    return set(entries.values_list("batch", flat=True))


@EACH_MINUTE.join
def forget_after_a_restore() -> int:
    """Whoever was erased since the backup that was restored."""
    return erase_again()
