"""Sentences for what the checks of moves find, and for what differs between versions."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse

from drill.field.core.field import UNITS_PER_INCH, UNITS_PER_STEP, UNITS_PER_YARD
from drill.field.core.spoken import USUAL, Style
from drill.field.wording import SMALLEST_NAMED_STEP, steps_text
from drill.shows.core.motion import Way
from drill.shows.core.move_findings import (
    Close,
    Fault,
    Finding,
    LargeStep,
    Missing,
    OffField,
    Repeated,
    Unchecked,
    WrongCounts,
)
from drill.shows.core.moves import Heading, PathKind, to_5
from drill.shows.core.told_drill import Drill
from drill.shows.core.version_changes import Comparison
from drill.shows.models import ShowVersion

KINDS = {
    Fault.REPEATED: "set named twice",
    Fault.COUNTS: "counts do not add up",
    Fault.MISSING: "no coordinate",
    Fault.CLOSE: "too close",
    Fault.STEP: "step too large",
    Fault.EDGE: "off the field",
    Fault.UNCHECKED: "not checked",
}
GOING = {Heading.FORWARD: "", Heading.BACKWARD: " backward", Heading.SIDEWAYS: " sideways"}
SHOWN = 12
"""labels named one by one before the rest is counted"""
TO_5 = re.compile(r"^(\d+(?:\.\d+)?)\s*-?\s*to\s*-?\s*5$")
INCHES = re.compile(r"^(\d+(?:\.\d+)?)\s*(?:\"|″|in\.?|inch|inches)$")


def figure(value: float, places: int = 2) -> str:
    """A number without needless zeros: '5.12', '20'."""
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def decimal_steps(units: float) -> str:
    """A distance in 8-to-5 steps: '25 steps', '0.5 step'."""
    text = figure(units / UNITS_PER_STEP)
    return f"{text} step{'' if float(text) <= 1 and float(text) > 0 else 's'}"


def to_5_words(length: float) -> str:
    """A step's size: '5.12-to-5'."""
    return f"{figure(to_5(length))}-to-5"


def read_step(text: str) -> int:
    """A step's size as people write it, '6-to-5' or '30 in', in units; ValueError in words."""
    plain = " ".join(text.lower().split())
    n, inches = TO_5.match(plain), INCHES.match(plain)
    if n and Fraction(n[1]) > 0:
        # Rounded up, so that a step of exactly that size stays within the limit.
        units = math.ceil(5 * UNITS_PER_YARD / Fraction(n[1]))
    elif inches:
        units = round(Fraction(inches[1]) * UNITS_PER_INCH)
    else:
        raise ValueError("Write the step as 6-to-5, or in inches as 30 in.")
    if not UNITS_PER_INCH <= units <= 10 * UNITS_PER_STEP:
        raise ValueError("No step is that size: 8-to-5 is usual, 22.5 in.")
    return units


def write_step(units: int) -> str:
    """A step limit as ``read_step`` reads it back: '6-to-5', else '29.5 in'."""
    n = Fraction(round(100 * to_5(units)), 100)
    if n and math.ceil(5 * UNITS_PER_YARD / n) == units:
        return f"{figure(float(n))}-to-5"
    return f"{figure(units / UNITS_PER_INCH, 5)} in"


def finding_words(finding: Finding, drill: Drill) -> str:
    """What is found, without the set it is about."""
    names = _names(finding.dots, drill)
    if isinstance(finding, LargeStep):
        return f"{names}: {_step_words(finding)}"
    if isinstance(finding, Close):
        return f"{names}: {_close_words(finding)}"
    if isinstance(finding, OffField):
        when = f" at count {finding.count}" if finding.count is not None else ""
        return f"{names}: {decimal_steps(finding.outside)} outside the field{when}"
    if isinstance(finding, Missing):
        return f"{_number(finding.dots, 'dot')} without a coordinate: {names}"
    if isinstance(finding, Unchecked):
        return f"{_number(finding.dots, 'dot')} {_unchecked(finding)}: {names}"
    if isinstance(finding, Repeated):
        return f"{drill.sets[finding.earlier].label} is already earlier in the order"
    if isinstance(finding, WrongCounts) and finding.told is not None:
        return f"the words take {finding.told} counts, the set takes {finding.counts}: {names}"
    return "it has no counts, so steps can't be checked"


def _unchecked(finding: Unchecked) -> str:
    if finding.as_drawn:
        return "whose words leave part of the move to the picture"
    if finding.in_words:
        return "whose words do not end at the coordinate"
    return "on curves without words"


def _step_words(finding: LargeStep) -> str:
    step = finding.step
    size = f"{to_5_words(step.length)}{GOING[step.heading]}, {figure(step.inches, 1)} in a step"
    size += f" (warned from {write_step(step.limit)})"
    if step.per_second is not None:
        size += f", {figure(step.per_second, 0)} in a second"
    if step.count is not None:
        return f"count {step.count} is {size}"
    least = "at least " if finding.kind is PathKind.UNKNOWN else ""
    far = f"{least}{figure(step.distance)} steps in {step.counts} counts"
    more = step.enough_counts
    return f"{far} is {size}; {more} counts would be {figure(step.to_5_in(more))}-to-5"


def _close_words(finding: Close) -> str:
    near = f"{decimal_steps(finding.distance)} apart"
    when = f" at count {figure(finding.count, 1)} of {finding.counts}" if finding.counts else ""
    return f"{near}{when}"


def _names(dots: tuple[int, ...], drill: Drill) -> str:
    labels = [drill.dots[p] for p in dots]
    if len(labels) == 2:
        return " and ".join(labels)
    more = f" and {len(labels) - SHOWN} more" if len(labels) > SHOWN else ""
    return ", ".join(labels[:SHOWN]) + more


def _number(dots: tuple[int, ...], noun: str) -> str:
    return f"{len(dots)} {noun}{'' if len(dots) == 1 else 's'}"


def pair_words(found: Comparison, index: int) -> str:
    """What became of a set: 'inserted', 'was 13', 'counts 8, were 16'."""
    pair = found.pairs[index]
    if pair.before is None:
        return "inserted"
    if pair.after is None:
        return "removed"
    old, new = found.before[pair.before], found.after[pair.after]
    words = []
    if old.label != new.label:
        words.append(f"was set {old.label}")
    if old.counts != new.counts:
        words.append(f"{new.counts} counts, were {old.counts}")
    return ", ".join(words)


def summary_words(found: Comparison) -> str:
    """The whole comparison in one line."""
    parts = [
        (len(found.moved), "move", "moves", "by more than a quarter step"),
        (len(found.rounded), "rounding difference", "rounding differences", ""),
        (len(found.inserted), "inserted set", "inserted sets", ""),
        (len(found.removed), "removed set", "removed sets", ""),
        (len(found.renumbered), "renumbered set", "renumbered sets", ""),
        (len(found.recounted), "set with other counts", "sets with other counts", ""),
    ]
    words = [f"{n} {one if n == 1 else many} {more}".rstrip() for n, one, many, more in parts if n]
    return ", ".join(words) or "no differences"


def change_words(change: Mapping[str, Any], spots: Mapping[int, str]) -> str:
    """How an event's own version was made: '4-11 closed up in 12 sets'."""
    code = change.get("code")
    if code == "close":
        sets = len(change["sets"])
        spot = spots.get(change["spot"], "a former spot")
        return f"{spot} closed up in {sets} set{'' if sets == 1 else 's'}"
    if code == "cut":
        first, last = change["first"], change["last"]
        which = f"set {first}" if first == last else f"sets {first} to {last}"
        return f"{which} cut, {change['counts']} counts to the next"
    return "restored as it was before"


def way_text(way: Way, style: Style = USUAL) -> str:
    """'6 steps in 8 counts, 10.7-to-5', 'stands still'."""
    if not way.distance:
        return "stands still"
    text = f"{steps_text(way.distance, style)} in {way.counts} counts"
    if not way.step or to_5(way.step) > SMALLEST_NAMED_STEP:
        return text
    return f"{text}, {to_5(way.step):.1f}-to-5"


def finding_lines(
    version: ShowVersion, drill: Drill, found: Iterable[Finding]
) -> list[dict[str, Any]]:
    """Each finding with its words and the picture it leads to."""
    lines = []
    for finding in found:
        head = drill.sets[finding.at]
        where = {"version": str(version.pk), "set": head.label}
        if finding.dots:
            where["near"] = drill.dots[finding.dots[0]]
        lines.append(
            {
                "kind": KINDS[finding.fault],
                "soft": finding.fault is Fault.UNCHECKED,
                "set": head.label,
                "words": finding_words(finding, drill),
                "url": f"{reverse('show', args=[version.show_id])}?{urlencode(where)}",
            }
        )
    return lines
