"""The kinds of imports; each app registers its own."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import DatabaseError

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.imports.columns import missing_columns, odd_cells
from bandops.lib.imports.models import ImportBatch
from bandops.lib.imports.plan import Action, Column, Fault, Line, Mapped, Plan
from bandops.lib.imports.proposals import Proposal
from bandops.lib.imports.reading import FileRows, read_rows, table_of_file
from bandops.lib.imports.tables import Layout, Table
from bandops.lib.imports.turned_names import with_commas
from bandops.lib.imports.two_columns import with_whole_names
from bandops.lib.imports.values import parse_list
from bandops.lib.imports.words import Answer, Choice, words_of
from bandops.lib.web.rules import Rule, staff

Planner = Callable[[Mapped, Any, User], Plan]
Proposer = Callable[[Mapped, Any], list[Proposal]]


@dataclass(frozen=True)
class ForAll:
    """One choice for a whole file: what it is called, the ``values`` of a season, which ``rows``
    lack it (by number), and the cells that a value puts into them."""

    title: str
    help: str
    values: Callable[[Any], Sequence[Choice]]
    rows: Callable[[Mapped, Any], Sequence[int]]
    cells: Callable[[Any, str], Mapping[str, str]]


@dataclass(frozen=True)
class ImportKind:
    """One kind: its columns, and how to plan a table for a season by an account.

    ``layout`` makes a table of files that are laid out otherwise than headers and rows. Rows
    that are alike in the columns ``together`` are saved together or not at all. A
    planner that ``reads_on`` tells itself which required columns are missing, and what else is
    wrong; others are not asked before the columns are there. A ``proposer`` reads free text;
    ``for_all`` is chosen once for all rows that lack it. One that is not ``guessed`` has the
    columns of another: no sheet is taken for it unless somebody says so. ``allowed`` are those who
    bring it in.
    """

    key: str
    title: str
    intro: str
    columns: tuple[Column, ...]
    planner: Planner
    order: int
    layout: Layout | None = None
    reads_on: bool = False
    together: tuple[str, ...] = ()
    proposer: Proposer | None = None
    for_all: ForAll | None = None
    guessed: bool = True
    allowed: Rule = staff

    def read(self, filename: str, content: bytes, sheet: str = "") -> Table:
        """The table of a file, of one sheet of a workbook; Refused with a plain message when
        there is none."""
        return self.table_of(read_rows(filename, content, sheet))

    def table_of(self, file: FileRows) -> Table:
        """The table that the rows of a file make; Refused where they make none."""
        table = with_commas(table_of_file(file, self.layout))
        return with_whole_names(table, self.columns)

    def plan(
        self,
        table: Table,
        mapping: dict[str, int],
        season: Any,
        actor: User,
        presets: Iterable[Answer] = (),
    ) -> Plan:
        """The plan of a table; every fault that can be told, by row. ``presets`` are words read
        before anybody has kept them."""
        words = words_of(season).with_answers(presets)
        mapped = Mapped(table, self.columns, mapping, words)
        missing = [] if self.reads_on else missing_columns(mapped)
        plan = Plan(faults=missing) if missing else self.planner(mapped, season, actor)
        faults, warnings = odd_cells(mapped)
        faults += [Fault(slip.row, slip.column, slip.message) for slip in table.slips]
        # A spreadsheet's error is no word either: what the planner says of that cell is no news.
        told = {(f.row, f.column) for f in faults}
        rest = [f for f in plan.faults if (f.row, f.column) not in told or f.row == 0]
        plan.faults = sorted(dict.fromkeys([*rest, *faults]), key=lambda f: f.row)
        plan.warnings = sorted(dict.fromkeys([*plan.warnings, *warnings]), key=lambda f: f.row)
        plan.basis += [season.pk, sorted(mapping.items()), words_used(mapped)]
        return plan


def words_used(mapped: Mapped) -> list[tuple[str, str, str]]:
    """(kind, word, value) of the known words that the columns in use hold."""
    cells = (r.cell(at).text for r in mapped.table.rows for at in mapped.mapping.values())
    return mapped.words.among(part for text in cells for part in (text, *parse_list(text)))


_kinds: dict[str, ImportKind] = {}


def register(kind: ImportKind) -> ImportKind:
    """Make a kind known to the import pages."""
    _kinds[kind.key] = kind
    return kind


def all_kinds() -> list[ImportKind]:
    """In the order in which a new band needs them."""
    return sorted(_kinds.values(), key=lambda kind: kind.order)


def kind_of(key: str) -> ImportKind:
    """The kind; KeyError for none."""
    return _kinds[key]


def accept(
    *,
    actor: User,
    kind: ImportKind,
    filename: str,
    table: Table,
    mapping: dict[str, int],
    season: Any,
    digest: str | None = None,
    sure: bool = False,
    presets: Iterable[Answer] = (),
) -> ImportBatch:
    """Carry out a plan, all of it or nothing. ``digest`` is that of the plan that was reviewed;
    ``sure`` says that its grave warnings were accepted, ``presets`` what words it was read by.

    Imports of one season wait for each other, so that none plans on what another is changing.
    """
    with recorded(actor, f"import {kind.title.lower()}") as batch:
        type(season).objects.select_for_update().get(pk=season.pk)
        plan = kind.plan(table, mapping, season, actor, presets)
        if digest is not None and plan.digest != digest:
            raise Overtaken("Something changed since this preview: look at it again.")
        if plan.faults:
            raise Refused("Nothing was imported: the file has errors.", _texts(plan.faults))
        if plan.cautions and not sure:
            raise Refused("Nothing was imported: check the box first.", _texts(plan.cautions))
        _carry_out(plan)
        return ImportBatch.objects.create(
            kind=kind.key,
            filename=filename[:200],
            batch=batch,
            added=plan.added,
            changed=plan.changed,
            by=actor,
        )


def _carry_out(plan: Plan) -> None:
    """Refused, by row, for what only the database sees."""
    for line in [*plan.lines, *(Line(0, Action.SAME, "", (), step) for step in plan.after)]:
        try:
            line.do()
        except ValidationError as error:
            raise _refused(line, tuple(error.messages)) from error
        except DatabaseError as error:
            raise _refused(line, ("It does not fit with what is already there.",)) from error
        except Refused as error:
            raise _refused(line, (error.message, *error.details)) from error


def _refused(line: Line, details: tuple[str, ...]) -> Refused:
    where = f" because of row {line.row}, {line.label}" if line.row else ""
    return Refused(f"Nothing was imported{where}.", details)


def _texts(faults: list[Fault]) -> tuple[str, ...]:
    return tuple(f"row {f.row}, {f.column}: {f.message}" for f in faults)
