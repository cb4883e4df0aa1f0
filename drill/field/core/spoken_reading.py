"""Reading the words for a coordinate, as people say and shorten them; ``spoken`` gives them a
field.

Nothing is guessed: words that are left over, a missing side or an unnamed hash are refused with a
``ValueError`` whose message is for the person.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction

from drill.field.core.field import UNITS_PER_INCH, UNITS_PER_STEP, UNITS_PER_YARD


@dataclass(frozen=True, slots=True)
class Across:
    """A coordinate across the field in 1/32 inch from the 50, positive to the reader's right."""

    from_50: Fraction


@dataclass(frozen=True, slots=True)
class Depth:
    """A depth: one mark, or two to be midway between, and how far behind (1/32 inch).

    ``in_steps`` is False for inches, feet, yards and metres, which are always real lengths.
    """

    marks: tuple[str, ...]
    behind: Fraction = Fraction(0)
    in_steps: bool = True


_METRE = Fraction(10_000, 254) * UNITS_PER_INCH
_UNITS = (
    (r"steps?|stps?", Fraction(UNITS_PER_STEP)),
    (r"inch(?:es)?|in|\"", Fraction(UNITS_PER_INCH)),
    (r"feet|foot|ft|'", Fraction(12 * UNITS_PER_INCH)),
    (r"yards?|yds?", Fraction(UNITS_PER_YARD)),
    (r"millimet(?:re|er)s?|mm", _METRE / 1000),
    (r"centimet(?:re|er)s?|cm", _METRE / 100),
    (r"met(?:re|er)s?|m", _METRE),
)
# "3 in 40" is 3 steps inside the 40; "3 in out 40" is inches, as a direction follows.
_DIRECTION = (
    r"(?:in|inside|outside|out|behind|before|from|off|left|right|[bfiolr]|[bf][bf](?:h|sl?))"
)
_INCHES = rf"(?:inch(?:es)?|in(?=\s+{_DIRECTION}\b)|\")"
_UNIT = "|".join([_INCHES, *(words for words, _ in _UNITS if "inch" not in words)])
_DIGITS = r"[0-9]{1,6}"
_NUMBER = (
    rf"(?:{_DIGITS}[ -]+{_DIGITS}/{_DIGITS}|{_DIGITS}/{_DIGITS}|[0-9]{{0,6}}\.{_DIGITS}|{_DIGITS})"
)
_FEET = rf"{_NUMBER}\s*(?:feet|foot|ft|')"
_LENGTH = (
    rf"(?<![0-9./])(?:{_FEET}\s*{_NUMBER}\s*{_INCHES}"
    rf"|{_NUMBER}(?:\s*(?:{_UNIT})(?![a-z]))?)"
)
_LENGTH_ALONE = re.compile(
    rf"{_FEET}\s*{_NUMBER}\s*(?:{_UNITS[1][0]})|{_NUMBER}\s*(?:{'|'.join(w for w, _ in _UNITS)})"
)
_PART = re.compile(rf"({_NUMBER})\s*([a-z'\"]*)")

_MARK = (
    r"(?:the\s+)?(?:(?:front|back|home|visitors?)\s+(?:side\s+)?"
    r"(?:hash(?:es|\s*marks?|\s+line)?|side\s?line)|[fb](?:h|sl?))\b"
)
_BEHIND = r"behind|(?:in\s+)?back\s+of|b"
_IN_FRONT = r"in\s+front(?:\s+of)?|front\s+of|before|f"
_DEPTH = re.compile(
    rf"(?P<far>{_LENGTH})\s*(?P<way>{_BEHIND}|{_IN_FRONT}|from|off)\s+(?P<mark>{_MARK})"
    rf"|(?P<far_>{_LENGTH})\s*(?P<way_>[bf])(?P<mark_>[bf](?:h|sl?))\b"
    rf"|(?:(?:half\s?way|midway)\s+)?between\s+(?:(?P<first>{_MARK})\s+and\s+(?P<second>{_MARK})"
    r"|(?P<hashes>(?:the\s+)?hash(?:es|\s*marks)))"
    rf"|(?:\b(?:on|at)\s+)?(?<![a-z])(?P<on>{_MARK})"
)
_SIDE = re.compile(
    r"(?<![a-z])(?:on\s+)?(?:the\s+)?(?:side\s*(1|2|one|two|a|b)|s\s?(1|2)"
    r"|(left|right|l|r)(?:\s+side)?(?!\s*of\b))(?![a-z0-9])"
)
_LINE = (
    r"(?:the\s+)?(goal(?:\s?line)?|gl|[0-9]{1,3})(?![0-9])"
    r"(?:\s*-?\s*(?:(?:yards?|yd)(?:\s?line)?|yl|line))?"
)
_OFF_LINE = re.compile(
    rf"({_LENGTH})\s*(outside|outs?|os?|inside|ins?|is?|(?:left|right|l|r)\s*of)(?:\s+of)?\s*{_LINE}"
)
_BETWEEN_LINES = re.compile(rf"(?:(?:half\s?way|midway)\s+)?between\s+{_LINE}\s+and\s+{_LINE}")
_ON_LINE = re.compile(rf"(?:(?:on|at)\s+)?{_LINE}")

_EXAMPLE = "side 1, 3.5 outside the 40, 6 behind the front hash"


def split_coordinate(text: str) -> tuple[str, str]:
    """The words across the field and the words for the depth, whichever comes first."""
    plain = _plain(text)
    found = list(_DEPTH.finditer(plain))
    if not found:
        _refuse_unnamed_mark(plain)
        raise ValueError(f"“{text.strip()}” names no hash or sideline; write “{_EXAMPLE}”.")
    if len(found) > 1:
        raise ValueError(f"“{text.strip()}” says the depth twice.")
    match = found[0]
    around = (plain[: match.start()].strip(" ,"), plain[match.end() :].strip(" ,"))
    across = ", ".join(words for words in around if words)
    if not across:
        raise ValueError(f"“{text.strip()}” names no yard line; write “{_EXAMPLE}”.")
    return across, match.group()


def read_length(text: str) -> int:
    """A length with its unit, such as "53 ft 4 in", "28 steps" or "18.3 m", in 1/32 inch."""
    plain = _plain(text)
    if not _LENGTH_ALONE.fullmatch(plain):
        raise ValueError(
            f"“{text.strip()}” is not a length; write it with its unit, such as “53 ft 4 in”."
        )
    return round(_length(plain)[0])


def read_across(text: str) -> Across:
    """Side and yard line, in any usual order."""
    plain = _plain(text)
    sides = list(_SIDE.finditer(plain))
    if len(sides) > 1:
        raise ValueError(f"“{text.strip()}” names the side twice.")
    rest = " ".join(_SIDE.sub(" ", plain).replace(",", " ").split())
    side = _side(sides[0]) if sides else None
    if match := _OFF_LINE.fullmatch(rest):
        return _off_line(match, side)
    if match := _BETWEEN_LINES.fullmatch(rest):
        lines = [_line(match[1]), _line(match[2])]
        return Across(_sided(sum(lines, Fraction(0)) / 2, side))
    if match := _ON_LINE.fullmatch(rest):
        return Across(_sided(_line(match[1]), side))
    raise ValueError(
        f"“{text.strip()}” is not understood across the field; "
        "write “side 1, 3.5 outside the 40” or “2 left of the 50”."
    )


def read_depth(text: str) -> Depth:
    """Distance from a hash or a sideline, on one, or between two."""
    plain = _plain(text)
    match = _DEPTH.fullmatch(plain.strip(" ,"))
    if match is None:
        _refuse_unnamed_mark(plain)
        raise ValueError(
            f"“{text.strip()}” is not understood as a depth; write “6 behind the front hash”."
        )
    if match["hashes"]:
        return Depth(("front hash", "back hash"))
    if match["first"]:
        return Depth((_mark(match["first"]), _mark(match["second"])))
    if match["on"]:
        return Depth((_mark(match["on"]),))
    length, in_steps = _length(match["far"] or match["far_"])
    mark = _mark(match["mark"] or match["mark_"])
    return Depth((mark,), _way(match["way"] or match["way_"], mark) * length, in_steps)


def _plain(text: str) -> str:
    """Small letters, single spaces, commas as the only separators, fractions with a slash."""
    written = []
    for char in text:
        if char > "\x7f" and "VULGAR FRACTION" in unicodedata.name(char, ""):
            value = Fraction(unicodedata.numeric(char)).limit_denominator(16)
            written.append(f" {value.numerator}/{value.denominator}")
        else:
            written.append(char)
    plain = "".join(written).lower().translate(_SAME)
    plain = re.sub(r"\.(?![0-9])", " ", plain)
    return " ".join(re.sub(r"[;:|()]+", ",", plain).split())


_SAME = str.maketrans(
    {"⁄": "/", "∕": "/", "’": "'", "′": "'", "″": '"', "”": '"', "–": "-", "‑": "-", "·": ","}
)


def _length(text: str) -> tuple[Fraction, bool]:
    """A length in 1/32 inch, and whether it is said in steps."""
    total, in_steps = Fraction(0), True
    for number, unit in _PART.findall(text):
        size = next((s for words, s in _UNITS if re.fullmatch(words, unit)), _UNITS[0][1])
        total += _number(number) * size
        in_steps = in_steps and size == UNITS_PER_STEP
    return total, in_steps


def _number(text: str) -> Fraction:
    try:
        return sum((Fraction(part) for part in re.split(r"[ -]+", text)), Fraction(0))
    except ZeroDivisionError:
        raise ValueError(f"“{text}” is not a number.") from None


def _mark(text: str) -> str:
    words = text.removeprefix("the ").strip()
    end = "front" if words[0] in "fh" else "back"
    return f"{end} {'hash' if 'h' in re.sub('^home', '', words) else 'sideline'}"


def _way(words: str, mark: str) -> int:
    """1 for behind, -1 for in front of."""
    if words in ("from", "off"):
        if "hash" in mark:
            raise ValueError(f"Say whether it is behind or in front of the {mark}.")
        return 1 if mark.startswith("front") else -1
    return 1 if re.fullmatch(_BEHIND, words) else -1


def _refuse_unnamed_mark(plain: str) -> None:
    for what in ("hash", "sideline"):
        if re.search(rf"(?<!front )(?<!back )\b{what}", plain):
            raise ValueError(f"Say which {what}: the front {what} or the back {what}.")


def _side(match: re.Match[str]) -> int:
    """-1 on the reader's left (side 1), 1 on the right."""
    return -1 if (match[1] or match[2] or match[3])[0] in "1oal" else 1


def _line(text: str) -> Fraction:
    """How far a yard line is from the 50."""
    yards = int(text) if text.isdecimal() else 0
    if yards > 50 or yards % 5:
        raise ValueError(f"There is no {text}-yard line; lines are 0, 5, 10 and so on to 50.")
    return Fraction((50 - yards) * UNITS_PER_YARD)


def _sided(from_50: Fraction, side: int | None) -> Fraction:
    if from_50 and side is None:
        raise ValueError("Say which side: side 1 or side 2.")
    return from_50 * (side or 1)


def _off_line(match: re.Match[str], side: int | None) -> Across:
    length, line = _length(match[1])[0], _line(match[3])
    way = match[2]
    if way.endswith("of"):
        return Across(_sided(line, side) + (length if way[0] == "r" else -length))
    if way[0] == "o":
        return Across(_sided(line + length, side))
    if line == 0 and length:
        raise ValueError("Nothing is inside the 50: say outside it, or left or right of it.")
    return Across(_sided(line - length, side))
