"""The order in which people list labels."""

from __future__ import annotations

import re


def natural(label: str) -> tuple[tuple[int, str], ...]:
    """Numbers inside a label count as numbers: 4-2 comes before 4-11."""
    return tuple((int(t), "") if t.isdecimal() else (-1, t) for t in re.findall(r"\d+|\D+", label))
