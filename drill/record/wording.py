"""How a member stands towards a letter, in words."""

from __future__ import annotations

from drill.record.core.letters import Credit, Standing


def letter_words(credit: Credit, left: int) -> str:
    """'has it'; 'on course, may miss 2 of the 5 left'; 'has to march all 3 that are left'."""
    if credit.standing == Standing.HAS:
        return "has it"
    if credit.standing == Standing.ON_COURSE:
        return f"on course, may miss {credit.may_miss} of the {left} left"
    if credit.standing == Standing.NEAR and credit.may_miss == 0:
        return f"has to march all {left} that are left"
    lacking = "1 performance" if credit.may_miss == -1 else f"{-credit.may_miss} performances"
    return f"lacks {lacking}, even with all {left} that are left"
