"""The sets of a version, from what the rows of a file say of them."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from bandops.lib.imports.plan import Plan, Record
from bandops.lib.imports.values import YES_NO, parse_whole, parse_yes_no
from drill.shows.imports.coordinate_columns import OF_SET
from drill.shows.models import MOST_COUNTS
from drill.shows.services.versions import SetLine

K = TypeVar("K", bound=Hashable)
SLOWEST, FASTEST = 20, 300
LONGEST_SHOW = 32_767
"""counts from the first set to the last"""
SAYS = {"counts": "{} counts", "total": "a total of {}", "tempo": "a tempo of {}"}
MANY_RUNS = 50
"""more sums of counts than this are as good as none"""


@dataclass
class Said:
    """What is said of a set, each by the first row that says it."""

    values: dict[str, tuple[int, Record]] = field(default_factory=dict)

    def value(self, key: str) -> int | None:
        return self.values[key][0] if key in self.values else None


@dataclass
class Step:
    """All that rows say of the way to a set; its total stands ``at`` the first that has one.

    ``unread`` are figures that are there and cannot be read; ``doubtful`` is a set that comes
    again or whose label cannot be read, so that its counts may belong to another.
    """

    doubtful: bool
    counts: list[int] = field(default_factory=list)
    totals: list[int] = field(default_factory=list)
    at: Record | None = None
    unread: bool = False

    def add(self, record: Record, numbers: dict[str, int], unread: frozenset[str]) -> None:
        """What one more row says."""
        if "counts" in numbers:
            self.counts.append(numbers["counts"])
        if "total" in numbers:
            self.totals.append(numbers["total"])
            self.at = self.at or record
        self.unread = self.unread or bool(unread & {"counts", "total"})

    @property
    def lengths(self) -> set[int]:
        """The counts it may have; none where they cannot be known without its total."""
        return set(self.counts) or (set() if self.totals or self.unread else {0})


def numbers_of(result: Plan, record: Record) -> tuple[dict[str, int], frozenset[str]]:
    """Counts, total, tempo and between of a row, and which of them cannot be read."""
    found: dict[str, int] = {}
    unread = set()
    for key in OF_SET:
        text = record[key]
        if not text:
            continue
        try:
            if key == "subset":
                found[key] = int(parse_yes_no(text, False, record.mapped.words.of(YES_NO.kind)))
            elif key == "tempo":
                found[key] = parse_whole(text, least=SLOWEST, most=FASTEST)
            else:
                most = MOST_COUNTS if key == "counts" else LONGEST_SHOW
                found[key] = parse_whole(text, most=most)
        except ValueError as error:
            result.faults.append(record.fault(key, error))
            unread.add(key)
    return found, frozenset(unread)


def gather(result: Plan, rows: Iterable[tuple[str, Record, dict[str, int]]]) -> dict[str, Said]:
    """Set -> what is said of it; a row that says otherwise than one above is a fault."""
    found: dict[str, Said] = {}
    for label, record, numbers in rows:
        said = found.setdefault(label, Said())
        for key, value in numbers.items():
            first, at = said.values.setdefault(key, (value, record))
            if first != value:
                what = SAYS.get(key, "another say").format(first)
                message = f"Set {label} has {what} in row {at.fault(key, '').row}."
                result.faults.append(record.fault(key, message))
    return found


def in_order(sequences: Iterable[Sequence[K]]) -> list[K]:
    """One order from the orders in which each dot has its sets: a set that only some dots
    have comes behind the one they have before it."""
    order: list[K] = []
    known: set[K] = set()
    for sequence in sequences:
        for n, label in enumerate(sequence):
            if label in known:
                continue
            known.add(label)
            if n and order[-1] == sequence[n - 1]:
                order.append(label)
                continue
            if n:
                order.insert(order.index(sequence[n - 1]) + 1, label)
                continue
            later = next((x for x in sequence if x in known and x != label), None)
            order.insert(len(order) if later is None else order.index(later), label)
    return order


def lines_of(order: Sequence[str], said: dict[str, Said]) -> list[SetLine]:
    """The sets in order, with counts from their totals where only those are given."""
    lines = []
    running = 0
    for label in order:
        it = said[label]
        counts, total = it.value("counts"), it.value("total")
        if counts is None:
            counts = 0 if total is None else total - running
        running = running + counts if total is None else total
        lines.append(SetLine(label, counts, bool(it.value("subset")), it.value("tempo")))
    return lines


def check_running(result: Plan, steps: Iterable[tuple[str, Step]]) -> None:
    """Totals that fall or do not add up, set after set. Where a figure above cannot be read or
    is in doubt, whatever it may be is let pass: it is told already."""
    runs = {0}
    for label, step in steps:
        sums = {run + counts for run in runs for counts in step.lengths}
        totals = set(step.totals)
        if step.doubtful:
            runs = totals if step.unread else runs | sums | totals
        else:
            if step.at is not None and runs:
                _compare(result, label, step, step.at, runs)
            # The next set may go on from a wrong total or from the right one.
            runs = totals if totals & sums else totals | sums
        if len(runs) > MANY_RUNS:
            runs = set()


def _compare(result: Plan, label: str, step: Step, at: Record, runs: set[int]) -> None:
    total, running = step.totals[0], min(runs)
    if not step.counts:
        if max(step.totals) < running:
            message = f"Set {label} is at {total} counts, but the set before is at {running} "
            result.faults.append(at.fault("total", message + "already."))
        elif total - max(runs) > MOST_COUNTS:
            message = f"Set {label} is {total - max(runs)} counts behind the set before."
            result.faults.append(at.fault("total", message))
    elif not {run + counts for run in runs for counts in step.counts} & set(step.totals):
        counts = step.counts[0]
        message = f"Set {label} is at {total} counts, but {running} and {counts} make "
        message += f"{running + counts}; the counts from set to set are kept."
        result.warnings.append(at.fault("total", message))


def check_total(result: Plan, record: Record, sums: set[int]) -> None:
    """A closing line of totals that no sum of counts equals."""
    try:
        total = parse_whole(record["total"])
    except ValueError as error:
        result.warnings.append(record.fault("total", str(error)))
        return
    if sums and total not in sums:
        message = f"The total says {total}, but the counts add up to {min(sums)}."
        result.warnings.append(record.fault("total", message))
