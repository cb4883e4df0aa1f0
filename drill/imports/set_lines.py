"""The sets of a version, from what the rows of a file say of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bandops.lib.imports.plan import Plan, Record
from bandops.lib.imports.values import parse_whole, parse_yes_no
from drill.imports.coordinate_columns import OF_SET
from drill.models.shows import MOST_COUNTS
from drill.services.versions import SetLine

SLOWEST, FASTEST = 20, 300
LONGEST_SHOW = 32_767
"""counts from the first set to the last"""
SAYS = {"counts": "{} counts", "total": "a total of {}", "tempo": "a tempo of {}"}


@dataclass
class Said:
    """What is said of a set, each by the first row that says it."""

    first: Record
    values: dict[str, tuple[int, Record]] = field(default_factory=dict)

    def value(self, key: str) -> int | None:
        return self.values[key][0] if key in self.values else None


def numbers_of(result: Plan, record: Record) -> dict[str, int] | None:
    """Counts, total, tempo and between of a row; None when one of them is wrong."""
    found: dict[str, int] = {}
    before = len(result.faults)
    for key in OF_SET:
        text = record[key]
        if not text:
            continue
        try:
            if key == "between":
                found[key] = int(parse_yes_no(text, False))
            elif key == "tempo":
                found[key] = parse_whole(text, least=SLOWEST, most=FASTEST)
            else:
                most = MOST_COUNTS if key == "counts" else LONGEST_SHOW
                found[key] = parse_whole(text, most=most)
        except ValueError as error:
            result.faults.append(record.fault(key, str(error)))
    return None if len(result.faults) > before else found


def gather(result: Plan, rows: Iterable[tuple[str, Record, dict[str, int]]]) -> dict[str, Said]:
    """Set -> what is said of it; a row that says otherwise than one above is a fault."""
    found: dict[str, Said] = {}
    for label, record, numbers in rows:
        said = found.setdefault(label, Said(record))
        for key, value in numbers.items():
            first, at = said.values.setdefault(key, (value, record))
            if first != value:
                what = SAYS.get(key, "another say").format(first)
                message = f"Set {label} has {what} in row {at.fault(key, '').row}."
                result.faults.append(record.fault(key, message))
    return found


def in_order(sequences: Iterable[Sequence[str]]) -> list[str]:
    """One order from the orders in which each place has its sets: a set that only some places
    have comes behind the one they have before it."""
    order: list[str] = []
    known: set[str] = set()
    for sequence in sequences:
        for n, label in enumerate(sequence):
            if label in known:
                continue
            known.add(label)
            if n:
                order.insert(order.index(sequence[n - 1]) + 1, label)
                continue
            later = next((x for x in sequence if x in known and x != label), None)
            order.insert(len(order) if later is None else order.index(later), label)
    return order


def lines_of(result: Plan, order: Sequence[str], said: dict[str, Said]) -> list[SetLine]:
    """The sets in order, with counts from their totals where only those are given."""
    lines = []
    running = 0
    for label in order:
        it = said[label]
        counts = _counts(result, label, it, running)
        total = it.value("total")
        running = running + counts if total is None else total
        lines.append(SetLine(label, counts, bool(it.value("between")), it.value("tempo")))
    return lines


def _counts(result: Plan, label: str, said: Said, running: int) -> int:
    counts, total = said.value("counts"), said.value("total")
    if total is None:
        return counts or 0
    record = said.values["total"][1]
    if counts is None and total < running:
        message = f"Set {label} is at {total} counts, but the set before is at {running} already."
        result.faults.append(record.fault("total", message))
        return 0
    if counts is None and total - running > MOST_COUNTS:
        message = f"Set {label} is {total - running} counts behind the set before."
        result.faults.append(record.fault("total", message))
        return 0
    if counts is not None and running + counts != total:
        message = f"Set {label} is at {total} counts, but {running} and {counts} make "
        message += f"{running + counts}; the counts from set to set are kept."
        result.warnings.append(record.fault("total", message))
    return total - running if counts is None else counts


def check_total(result: Plan, record: Record, sums: set[int]) -> None:
    """A closing line of totals that no sum of counts equals."""
    try:
        total = parse_whole(record["total"])
    except ValueError as error:
        result.warnings.append(record.fault("total", str(error)))
        return
    if total not in sums:
        message = f"The total says {total}, but the counts add up to {min(sums)}."
        result.warnings.append(record.fault("total", message))
