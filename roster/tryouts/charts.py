"""Figures as pictures: candidates against the cut, evaluators' offsets, agreement."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from django.urls import reverse

from bandops.lib.charts import Chart, Dot, Interval, Key, Line, Row, Scale, Strip, axis_of
from roster.tryouts.core.cut import Group
from roster.tryouts.core.reliability import HOW_MANY_LOOKS, Shares
from roster.tryouts.models import Tryout
from roster.tryouts.services.figures import CandidateFigure, EvaluatorFigure
from roster.tryouts.wording import figure_words, group_mark

KINDS = {Group.IN: "one", Group.CLOSE: "two", Group.OUT: "four", None: "rest"}


def _around(values: Iterable[float]) -> Scale:
    """From a round value below all to one above all, in fives."""
    found = list(values)
    low, high = 5 * math.floor(min(found) / 5), 5 * math.ceil(max(found) / 5)
    return Scale(low, max(high, low + 5))


def candidates_chart(
    tryout: Tryout, lines: Sequence[CandidateFigure], cut: float | None
) -> Chart | None:
    """Each candidate's adjusted figure with its 95% interval, the highest first; a hollow dot is
    the raw figure, the dashed line the cut."""
    shown = sorted(
        (it for it in lines if it.adjusted is not None), key=lambda it: -(it.adjusted or 0)
    )
    if not shown:
        return None
    edges = [it.adjusted + sign * (it.half or 0) for it in shown for sign in (-1, 1) if it.adjusted]
    scale = _around([*edges, *(it.raw for it in shown if it.raw is not None)])
    at_cut = (Line(scale.at(cut)),) if cut is not None else ()
    rows = tuple(
        Row(
            f"{group_mark(it.group)} {it.candidate.called}",
            _strip(scale, it, at_cut),
            figure_words(it),
            reverse("candidate-marks", args=[tryout.pk, it.candidate.pk]),
        )
        for it in shown
    )
    keys = (Key("one", "clear in ●"), Key("two", "too close to call ◐"), Key("four", "clear out ○"))
    return Chart(
        "Adjusted figure with its 95% interval, in percent",
        rows,
        axis_of(scale, "%"),
        keys,
        "Number",
        "Adjusted (raw), chance",
    )


def _strip(scale: Scale, it: CandidateFigure, cut: tuple[Line, ...]) -> Strip:
    adjusted, half = it.adjusted or 0.0, it.half or 0.0
    dots = [Dot(scale.at(adjusted), KINDS[it.group], f"adjusted {adjusted:.1f}")]
    if it.raw is not None:
        dots.insert(0, Dot(scale.at(it.raw), "raw", f"raw {it.raw:.1f}", 3.5))
    span = (Interval(scale.at(adjusted - half), scale.at(adjusted + half)),) if half else ()
    return Strip(dots=tuple(dots), intervals=span, lines=cut)


def evaluators_chart(found: Sequence[EvaluatorFigure]) -> Chart | None:
    """Each evaluator's offset with its 95% interval."""
    found = [it for it in found if not math.isnan(it.offset)]
    if not found:
        return None
    most = max([1.0, *(abs(it.offset) + (_real(it.half)) for it in found)])
    scale = _around([-most, most])
    rows = tuple(
        Row(
            it.panelist.code,
            Strip(
                dots=(Dot(scale.at(it.offset), "one", f"{it.offset:+.1f}"),),
                intervals=(
                    Interval(
                        scale.at(it.offset - _real(it.half)), scale.at(it.offset + _real(it.half))
                    ),
                ),
                lines=(Line(scale.at(0)),),
            ),
            f"{it.offset:+.1f} ± {it.half:.1f}" if _real(it.half) else f"{it.offset:+.1f}",
        )
        for it in found
    )
    return Chart(
        "How far each evaluator marks above (+) or below (−) the others, in percent",
        rows,
        axis_of(scale, "%"),
        head="Evaluator",
        what="Offset",
    )


def _real(value: float) -> float:
    return 0.0 if math.isnan(value) else value


def agreement_chart(shares: Shares) -> Chart:
    """What share of the differences between candidates is true, by looks."""
    scale = Scale(0, 100)
    rows = []
    for looks in HOW_MANY_LOOKS:
        raw = 100 * shares.agreement(looks, adjusted=False)
        adjusted = 100 * shares.agreement(looks, adjusted=True)
        dots = (Dot(scale.at(raw), "raw", "raw"), Dot(scale.at(adjusted), "one", "adjusted"))
        words = f"{adjusted:.0f}% adjusted, {raw:.0f}% raw"
        rows.append(Row(f"{looks} look{'s' if looks > 1 else ''}", Strip(dots=dots), words))
    return Chart(
        "How much of the differences between candidates is true, by looks for each",
        tuple(rows),
        axis_of(scale, "%"),
        head="Looks",
        what="Of the figure's spread",
    )
