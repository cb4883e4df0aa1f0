"""What stands in a cell for whoever marches a spot: a name, nobody, marks beside the name."""

from __future__ import annotations

import re
from dataclasses import dataclass

OPEN = frozenset(
    ["-", "–", "—", "--", "---", "x", "?", "open", "vacant", "empty", "none", "tbd", "tba", "hole"]
)
"""what stands where nobody does"""
NOBODY = "open"
MARK = r"RL|AL|ARL|SL|rank leader|(?:asst\.?|assistant)(?: rank)? leader|section leader|leader"
IN_BRACKETS = re.compile(rf"\s*[(\[]\s*({MARK})\s*[)\]]\s*", re.IGNORECASE)
BARE = re.compile(r"(?P<name>.*[a-zà-ÿ].*?)[\s,*–-]+(?P<mark>RL|AL|ARL|SL)")
BEFORE = re.compile(r"(?P<mark>RL|AL|ARL|SL)[\s:.–-]+(?P<name>.*[a-zà-ÿ].*)")
SIGNS = "*^†‡°"
"""signs that a list explains somewhere else: what they mean is asked once"""
SIGNED = re.compile(rf"(?P<name>.*\w.*?)\s*(?P<mark>[{SIGNS}]{{1,3}})")
SIGNED_BEFORE = re.compile(rf"(?P<mark>[{SIGNS}]{{1,3}})\s*(?P<name>.*\w.*)")
BRACKETS = re.compile(r"\s*[(\[]([^()\[\]]*)[)\]]\s*")


@dataclass(frozen=True)
class HolderCell:
    """A name (empty for nobody), the mark of a role beside it, and whether the cell says that the
    spot is open."""

    name: str
    mark: str = ""
    open: bool = False


def read_holder(text: str) -> HolderCell:
    """“Jon Pell (RL)” is Jon Pell with the mark RL; “TBD” is an open spot."""
    text = text.strip()
    if text.casefold() in OPEN:
        return HolderCell("", open=True)
    match = IN_BRACKETS.search(text)
    if match:
        name = f"{text[: match.start()]} {text[match.end() :]}".strip()
        return HolderCell(name, match[1])
    forms = (BARE, BEFORE, SIGNED, SIGNED_BEFORE)
    bare = next(filter(None, (form.fullmatch(text) for form in forms)), None)
    return HolderCell(bare["name"].strip(), bare["mark"]) if bare else HolderCell(text)


def asides(name: str) -> list[str]:
    """What stands in brackets in a name."""
    return [text.strip() for text in BRACKETS.findall(name) if text.strip()]


def without_asides(name: str) -> str:
    """The name without what stands in brackets."""
    return BRACKETS.sub(" ", name).strip()
