"""The part of a review in which free text is accepted or corrected row by row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import QueryDict

from bandops.lib.errors import Refused
from bandops.lib.imports.kinds import ForAll, ImportKind
from bandops.lib.imports.models import ImportUpload
from bandops.lib.imports.plan import Mapped
from bandops.lib.imports.proposals import ALL, Proposal, answered, overlaid, posted_answers
from bandops.lib.imports.tables import Table
from bandops.lib.imports.words import Choice, words_of

MOST_SHOWN = 100
"""rows at a time: a form has no more fields than Django takes"""


def answered_table(
    kind: ImportKind, table: Table, kept: ImportUpload, season: Any
) -> tuple[Table, dict[str, int]]:
    """The file's table and columns with what the reviewer put in."""
    if not kept.answers:
        return table, kept.mapping
    rows = {row: cells for row, cells in kept.answers.items() if row != ALL}
    mapped = answered(_filled(kind, table, kept, season), rows)
    return mapped.table, mapped.mapping


def proposals(kind: ImportKind, table: Table, kept: ImportUpload, season: Any) -> list[Proposal]:
    """The rows with free text, as they are read or as the reviewer left them: those first that
    are to be answered, and where there are many, those that were checked last."""
    found = overlaid(_read(kind, table, kept, season), kept.answers)
    found.sort(key=lambda it: it.certain)
    waiting = sorted(found, key=lambda it: it.checked) if len(found) > MOST_SHOWN else found
    return waiting[:MOST_SHOWN]


@dataclass(frozen=True)
class Chooser:
    """The choice for a whole file: what was chosen (empty for nothing), and the rows that go by
    it."""

    kind: ForAll
    chosen: str
    values: Sequence[Choice]
    rows: Sequence[int]


def chooser(kind: ImportKind, table: Table, kept: ImportUpload, season: Any) -> Chooser | None:
    """None where a kind has no such choice, or no row lacks it."""
    if kind.for_all is None:
        return None
    rows = kind.for_all.rows(_mapped(kind, table, kept, season), season)
    if not rows:
        return None
    return Chooser(kind.for_all, _chosen(kept), kind.for_all.values(season), rows)


def choose_for_all(kept: ImportUpload, chosen: Chooser, value: str) -> None:
    """Keep the choice with the upload. Only the rows that it fills are read anew."""
    if value not in {"", *(choice.value for choice in chosen.values)}:
        raise Refused(f"Choose the {chosen.kind.title.lower()} from the list.")
    anew = {ALL, *map(str, chosen.rows)}
    rest = {row: cells for row, cells in kept.answers.items() if row not in anew}
    kept.answers = rest | ({ALL: {"value": value}} if value else {})
    kept.save()


def keep_answers(
    kept: ImportUpload, sent: QueryDict, kind: ImportKind, table: Table, season: Any
) -> None:
    """Keep with the upload what was ticked or changed; what was not shown stays as it was."""
    read = _read(kind, table, kept, season)
    shown = [it for it in read if f"shown-{it.row}" in sent]
    rest = {row: cells for row, cells in kept.answers.items() if f"shown-{row}" not in sent}
    kept.answers = rest | posted_answers(sent.dict(), shown)  # type: ignore[arg-type]
    kept.save()


def kept_for_all(kept: ImportUpload) -> dict[str, dict[str, str]]:
    """The answers without those of single rows."""
    return {ALL: kept.answers[ALL]} if ALL in kept.answers else {}


def _read(kind: ImportKind, table: Table, kept: ImportUpload, season: Any) -> list[Proposal]:
    if kind.proposer is None:
        return []
    return kind.proposer(_filled(kind, table, kept, season), season)


def _filled(kind: ImportKind, table: Table, kept: ImportUpload, season: Any) -> Mapped:
    """The table with what was chosen for the whole file in the rows that lack it."""
    mapped = _mapped(kind, table, kept, season)
    value = _chosen(kept)
    if kind.for_all is None or not value:
        return mapped
    cells = kind.for_all.cells(season, value)
    return answered(mapped, {str(row): cells for row in kind.for_all.rows(mapped, season)})


def _mapped(kind: ImportKind, table: Table, kept: ImportUpload, season: Any) -> Mapped:
    return Mapped(table, kind.columns, kept.mapping, words_of(season))


def _chosen(kept: ImportUpload) -> str:
    return str(kept.answers.get(ALL, {}).get("value", ""))
