"""Words of sizes, sums and days."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping

from roster.equipment.core.fitting import Alteration, Fit, Unfitted
from roster.equipment.core.sizes import Unit, written
from roster.equipment.models import Figure, Inspection, Item, Ticket


def dollars(cents: int) -> str:
    """'$12.50'."""
    return f"${cents // 100:,}.{cents % 100:02d}"


def late_words(ticket: Ticket, today: datetime.date, inspection: Inspection | None) -> str:
    """Why somebody has to see to work on an item; empty where it is back in time."""
    if ticket.due is None:
        return "no day set"
    if ticket.due < today:
        return "late"
    if inspection is not None and ticket.due >= inspection.date:
        return "after the inspection"
    return ""


def size_of(item: Item) -> str:
    """'chest 42 in, sleeve 34 in'; empty for a kind without figures."""
    sizes = [f"{s.figure.get_measure_display()} {s.words}" for s in item.sizes.all()]
    return ", ".join(sizes)


def altered(alterations: Iterable[Alteration], figures: Mapping[str, Figure]) -> str:
    """'sleeve 1 in longer'; 'waist 1/2 in in'."""
    said = []
    for change in alterations:
        figure = figures[change.figure]
        way = "let out" if change.by > 0 else "take in"
        said.append(f"{way} {figure.get_measure_display()} {_steps(figure, abs(change.by))}")
    return ", ".join(said)


def fit_words(fit: Fit, figures: Mapping[str, Figure]) -> str:
    """'fits as it is'; 'let out sleeve 1 in ($15.00)'."""
    if not fit.alterations:
        return "fits as it is"
    cost = f" ({dollars(fit.cost)})" if fit.cost else ""
    return f"{altered(fit.alterations, figures)}{cost}"


def _steps(figure: Figure, ticks: int) -> str:
    if list(figure.bands.all()):
        return "1 size" if ticks == 1 else f"{ticks} sizes"
    return written(ticks, Unit(figure.unit))


def value_words(figure: Figure, value: int) -> str:
    """A figure's value: a length, or the name of the size of that number."""
    bands = list(figure.bands.all())
    if bands:
        return bands[value].name if 0 <= value < len(bands) else "beyond the sizes"
    return written(value, Unit(figure.unit))


def buy_words(unfitted: Unfitted, figures: Mapping[str, Figure]) -> str:
    """'chest 46 in, sleeve 36 in'."""
    return ", ".join(
        f"{figures[key].get_measure_display()} {value_words(figures[key], value)}"
        for key, value in unfitted.buy
    )


def misses_words(misses: Iterable[Alteration], figures: Mapping[str, Figure]) -> str:
    """'chest 2 in too small'."""
    said = []
    for miss in misses:
        figure = figures[miss.figure]
        way = "too small" if miss.by > 0 else "too large"
        said.append(f"{figure.get_measure_display()} {_steps(figure, abs(miss.by))} {way}")
    return ", ".join(said)
