"""Which rooms there are: every folder of a house that says so with an ``apps.py``."""

from __future__ import annotations

from bandops.env import ROOT

HOUSES = ("roster", "drill")


def found() -> list[str]:
    """The dotted names of all rooms, the houses in their order, the rooms by name."""
    return [
        f"{house}.{path.parent.name}"
        for house in HOUSES
        for path in sorted((ROOT / house).glob("*/apps.py"))
    ]
