"""What a single change that fills a hole can be."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class CureKind(StrEnum):
    """A single change that fills one hole more."""

    BACK = "a member is back"
    INSTRUMENT = "one more instrument"
    TRAVEL = "one more seat to travel"
    PIECE = "one more piece that fits a member"
    UNBLOCK = "a block is lifted"
    UNPIN = "a pin is lifted"
    NEWCOMER = "somebody new marches a spot that asks for experience"
    LESSON = "one lesson"


@dataclass(frozen=True, slots=True)
class Cure:
    """A single change with what it names. A block's segment and spot are empty where it is for
    all of them."""

    kind: CureKind
    member: str = ""
    part: str = ""
    instrument: str = ""
    segment: str = ""
    spot: str = ""
    piece: str = ""
