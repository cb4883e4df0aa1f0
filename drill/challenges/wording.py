"""Sentences about challenges and their figures."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from drill.challenges.core.challenges import OUT_OF, Reason
from drill.challenges.enums import ChallengeState

CHALLENGE_REASONS = {
    Reason.HIGHER: "the challenger takes the spot",
    Reason.LOWER: "the holder keeps the spot",
    Reason.EQUAL: "tied, the holder keeps the spot",
    Reason.BEATEN: "higher, but another challenger scored more",
    Reason.SHARED: "higher, but tied with another challenger: the holder keeps the spot",
}


def challenge_sentence(outcome: Mapping[str, Any]) -> str:
    """A challenge's figures and what follows, as staff read it: '8.25 to 8.25: equal, …'."""
    challenger, holder = figure_texts(Fraction(outcome["challenger"]), Fraction(outcome["holder"]))
    text = f"{challenger} to {holder}"
    if outcome.get("reason"):
        text += f": {CHALLENGE_REASONS[Reason(outcome['reason'])]}"
    n = outcome["evaluators"]
    return f"{text} ({n} evaluator{'' if n == 1 else 's'})"


def own_challenge_sentence(state: str, outcome: Mapping[str, Any], challenges: bool) -> str:
    """What a challenger or a holder reads of their challenge: their own figure, nobody else's."""
    words = {
        ChallengeState.ASKED: "To be held." if challenges else "Somebody is trying for your spot.",
        ChallengeState.CALLED_OFF: "Called off.",
        ChallengeState.KEPT: "The holder keeps the spot." if challenges else "You keep the spot.",
        ChallengeState.WON: "You win the spot." if challenges else "The challenger wins the spot.",
    }
    text = words[ChallengeState(state)]
    if not outcome:
        return text
    if outcome["reason"] == Reason.BEATEN:
        text = "Another challenger wins the spot."
    own = Fraction(outcome["challenger" if challenges else "holder"])
    return f"{text} Your figure: {_decimal(own, 2)} out of {OUT_OF}."


def figure_texts(first: Fraction, second: Fraction) -> tuple[str, str]:
    """Two figures to two places, or to as many as tell them apart."""
    for places in range(2, 9):
        texts = _decimal(first, places), _decimal(second, places)
        if texts[0] != texts[1] or first == second:
            return texts
    return str(first), str(second)


def _decimal(figure: Fraction, places: int) -> str:
    exact = Decimal(figure.numerator) / Decimal(figure.denominator)
    return str(exact.quantize(Decimal(10) ** -places))
