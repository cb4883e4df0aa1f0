"""A season's fundamentals: the built-in ones, the band's own, and who has passed which."""

from __future__ import annotations

import datetime
import json
from collections.abc import Collection, Iterable, Mapping
from functools import cache
from itertools import count
from typing import Any

from django.utils.text import slugify

from bandops.env import ROOT
from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.fundamentals.core import BadDefinition, definition_of, load, read
from drill.fundamentals.core import Fundamental as Movement
from drill.fundamentals.core.abbreviations import Table
from drill.fundamentals.core.word_tokens import phrase
from drill.fundamentals.core.words import written_name
from drill.fundamentals.models import EvaluationSequence, Fundamental, PassedFundamental
from drill.fundamentals.services.reading import refuse_unreadable, table_of
from roster.people.models import Member, Season

BUILT_IN_FILE = ROOT / "fixtures" / "fundamentals.json"


@cache
def built_in() -> dict[str, Movement]:
    """The fundamentals everybody has, by code; a definition that cannot be marched is an error."""
    return load(json.loads(BUILT_IN_FILE.read_text(encoding="utf-8")))


def fundamentals_of(season: Season) -> dict[str, Movement]:
    """Code -> fundamental: built in, overlaid by the band's own rows of the same code."""
    own = Fundamental.objects.filter(season=season).order_by("name")
    return built_in() | {row.code: read(row.definition) for row in own}


def judged(season: Season) -> set[str]:
    """The codes that the season's evaluation sequences judge candidates by."""
    rows = EvaluationSequence.objects.filter(season=season).values_list("codes", flat=True)
    return {code for codes in rows for code in codes}


def save_fundamental(
    *, actor: User, season: Season, definition: Mapping[str, Any], code: str | None = None
) -> Movement:
    """Add a fundamental of the band's own, or with a ``code`` change one or its way of a
    built-in. Its names must not mean another one already."""
    with recorded(actor, "save fundamental"):
        Season.objects.select_for_update().get(pk=season.pk)
        known = fundamentals_of(season)
        name = str(definition.get("name", "")).strip()
        new = code or slugify(name)[:40] or _free_code(known)
        if code is None and new in known:
            raise Refused(f"There is already a fundamental “{known[new].name}”: change that one.")
        try:
            it = read({**definition, "code": new, "name": name})
        except BadDefinition as error:
            raise Refused(str(error)) from error
        store(season, it, known)
    return it


def store(season: Season, it: Movement, known: Mapping[str, Movement]) -> None:
    """Keep one of the band's own; Refused where its names mean something already."""
    _refuse_taken_names(it, known)
    _refuse_abbreviations(it, known, table_of(season))
    Fundamental.objects.update_or_create(
        season=season, code=it.code, defaults={"name": it.name, "definition": definition_of(it)}
    )


def _free_code(known: Collection[str]) -> str:
    """For a name without a Latin letter."""
    return next(code for n in count(1) if (code := f"own-{n}") not in known)


def _refuse_taken_names(it: Movement, known: Mapping[str, Movement]) -> None:
    taken = {
        phrase(name): other
        for other in known.values()
        if other.code != it.code
        for name in (other.name, other.code, *other.also)
    }
    for name in (it.name, it.code, *it.also):
        other = taken.get(phrase(name))
        if other is not None:
            raise Refused(f"“{name}” already means {other.name}.")


def _refuse_abbreviations(it: Movement, known: Mapping[str, Movement], table: Table) -> None:
    """An abbreviation is not the name, and each can still be read."""
    for name in (it.name, written_name(it)):
        if phrase(name) in table:
            raise Refused(f"“{name}” is already one of your abbreviations.")
    refuse_unreadable(table, {**known, it.code: it})


def remove_fundamental(*, actor: User, row: Fundamental) -> None:
    """Remove the band's own, or go back to the built-in way of it."""
    with recorded(actor, "remove fundamental"):
        if row.code not in built_in():
            _refuse_in_use(row)
            PassedFundamental.objects.filter(code=row.code, member__season=row.season_id).delete()
        row.delete()
        refuse_unreadable(table_of(row.season), fundamentals_of(row.season))


def _refuse_in_use(row: Fundamental) -> None:
    for sequence in EvaluationSequence.objects.filter(season=row.season_id):
        if row.code in sequence.codes:
            raise Refused(f"The sequence “{sequence}” uses {row.name}: remove that first.")


def note_tryout_passed(
    *, actor: User, season: Season, on: datetime.date, passed: Mapping[int, Collection[str]]
) -> None:
    """Members (ids) passed fundamentals (codes) in their tryout; what was passed before stays."""
    known = fundamentals_of(season)
    with recorded(actor, "note passed fundamental"):
        there = set(
            PassedFundamental.objects.filter(member__in=passed).values_list("member_id", "code")
        )
        PassedFundamental.objects.bulk_create(
            PassedFundamental(member_id=pk, code=code, passed_on=on, noted_by=actor)
            for pk, codes in passed.items()
            for code in sorted(codes)
            if code in known and (pk, code) not in there
        )


def note_passed(
    *,
    actor: User,
    season: Season,
    code: str,
    members: Iterable[Member],
    passed: bool,
    on: datetime.date,
) -> int:
    """Note for each member that they have passed, or have not; how many that changed."""
    if code not in fundamentals_of(season):
        raise Refused("That fundamental does not exist.")
    ids = {member.pk for member in members if member.season_id == season.pk}
    if not ids:
        raise Refused("Choose at least one member.")
    with recorded(actor, "note passed fundamental"):
        Season.objects.select_for_update().get(pk=season.pk)
        rows = PassedFundamental.objects.filter(code=code, member__in=ids)
        if not passed:
            return rows.delete()[0]
        missing = ids - set(rows.values_list("member_id", flat=True))
        PassedFundamental.objects.bulk_create(
            PassedFundamental(member_id=pk, code=code, passed_on=on, noted_by=actor)
            for pk in sorted(missing)
        )
    return len(missing)
