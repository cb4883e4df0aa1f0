"""Single values as people write them; ValueError carries a message for the person."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal, InvalidOperation

from bandops.lib.dates import OUT_OF_REACH, in_reach
from bandops.lib.imports.words import NONE_KNOWN, Known, Vocabulary

YES = frozenset(["yes", "y", "true", "1", "x", "ja", "si", "oui"])
NO = frozenset(["no", "n", "false", "0", "nein", "non", "-"])
CLOCK = re.compile(
    r"^(\d{1,2})(?:[:.](\d{2}))?(?::\d{2})?\s*([ap])?\.?\s*(?:m\.?)?$", re.IGNORECASE
)
NAMED_TIMES = {
    name: datetime.time(hour)
    for hour, names in ((12, ("noon", "12 noon", "midday")), (0, ("midnight", "12 midnight")))
    for name in names
}
LETTERS = re.compile(r"^(.*\d.*?)\s+([A-Z]{3,5}|UTC[+-]\d{2,4})$")
"""the letters of a time zone after a time: 1:30 AM EDT"""
DIGITS = 9
LONGEST_NUMBER = 40
DATE_FORMATS = (
    "%Y-%m-%d",
    "%m/%d/%Y",
    "%d.%m.%Y",
    "%d %b %Y",
    "%d %B %Y",
    "%b %d, %Y",
    "%B %d, %Y",
)


YES_NO = Vocabulary(
    "yes or no",
    "yes or no",
    {"yes": "yes", "no": "no"},
    {**dict.fromkeys(YES, "yes"), **dict.fromkeys(NO, "no")},
).register()


def parse_yes_no(text: str, default: bool, known: Known = NONE_KNOWN) -> bool:
    """Yes or no; the default when empty."""
    if not text.strip():
        return default
    return YES_NO.find(text, known, f"“{text}” is not yes or no.") == "yes"


def parse_whole(
    text: str, default: int | None = None, *, least: int = 0, most: int = 32_767
) -> int:
    """A whole number in a range; the default when empty."""
    if not text.strip():
        if default is None:
            raise ValueError("A number is missing.")
        return default
    match = re.fullmatch(r"([+-]?\d{1,18})(\.0+)?", text.strip())
    if match is None:
        raise ValueError(f"“{text}” is not a whole number.")
    number = int(match[1])
    if not least <= number <= most:
        raise ValueError(f"{number} is not between {least} and {most}.")
    return number


def parse_decimal(text: str) -> Decimal:
    """A decimal number, with a point or a comma and either sign for minus; a percent sign
    divides by 100."""
    cleaned = text.strip().replace(",", ".").replace("\N{MINUS SIGN}", "-")
    percent = cleaned.endswith("%")
    try:
        value = Decimal(cleaned.rstrip("% "))
    except InvalidOperation:
        raise ValueError(f"“{text}” is not a number.") from None
    if not value.is_finite() or len(cleaned) > LONGEST_NUMBER:
        raise ValueError(f"“{text}” is not a number.")
    if not value:
        return Decimal(0)
    # An exponent of any size fits in a few letters, and would fill the memory written out.
    if not -DIGITS <= value.adjusted() < DIGITS:
        raise ValueError(f"“{text}” is not a number of {DIGITS} digits or fewer.")
    return value / 100 if percent else value


def parse_date(text: str) -> datetime.date | None:
    """A date (2026-10-17, 10/17/2026 month first, 17.10.2026, 17 Oct 2026); None when empty."""
    cleaned = text.strip()
    if not cleaned:
        return None
    for form in DATE_FORMATS:
        try:
            day = datetime.datetime.strptime(cleaned, form).date()
        except ValueError:
            continue
        _reached(text, day)
        return day
    raise ValueError(f"“{text}” is not a date such as 2026-10-17.")


def parse_time(text: str) -> datetime.time | None:
    """A time of day (19:30, 7:30 pm, 7pm, noon); None when empty."""
    cleaned = text.strip()
    if not cleaned:
        return None
    if cleaned.lower() in NAMED_TIMES:
        return NAMED_TIMES[cleaned.lower()]
    match = CLOCK.match(cleaned)
    if match is None:
        raise ValueError(f"“{text}” is not a time such as 19:30 or 7:30 pm.")
    hour, minute = int(match[1]), int(match[2] or 0)
    half = (match[3] or "").lower()
    if half and 1 <= hour <= 12:
        hour = hour % 12 + (12 if half == "p" else 0)
    if hour > 23 or minute > 59 or (half and not 1 <= int(match[1]) <= 12):
        raise ValueError(f"“{text}” is not a time such as 19:30 or 7:30 pm.")
    return datetime.time(hour, minute)


def split_zone(text: str) -> tuple[str, str]:
    """A time and the letters of its zone: '1:30 AM EDT' is '1:30 AM' and 'EDT'; the letters are
    empty where there are none."""
    match = LETTERS.match(text.strip())
    return (match[1], match[2]) if match else (text, "")


def parse_moment(text: str) -> datetime.datetime | None:
    """A local date and time (2026-10-16T18:00 or with a space); None when empty."""
    cleaned = text.strip()
    if not cleaned:
        return None
    try:
        moment = datetime.datetime.fromisoformat(cleaned)
    except ValueError:
        raise ValueError(f"“{text}” is not a date and time such as 2026-10-16 18:00.") from None
    _reached(text, moment)
    return moment


def _reached(text: str, day: datetime.date) -> None:
    if not in_reach(day):
        raise ValueError(f"“{text}”: {OUT_OF_REACH}")


def parse_list(text: str) -> list[str]:
    """Items separated by semicolons or commas."""
    return [item.strip() for item in re.split(r"[;,]", text) if item.strip()]


def looks_like_date(text: str) -> bool:
    """True for what spreadsheets make of codes such as 5-11."""
    months = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
    shapes = (
        rf"\d{{1,2}}[- /.]({months})[a-z]*([- /.]\d{{2,4}})?",
        rf"({months})[a-z]*[- /.]\d{{1,4}}",
        r"\d{4}-\d{2}-\d{2}.*",
        r"\d{1,2}/\d{1,2}/\d{2,4}",
    )
    return any(re.fullmatch(shape, text.strip(), re.IGNORECASE) for shape in shapes)


def looks_scientific(text: str) -> bool:
    """True for a code that a spreadsheet may have turned into 1E5 or 4.417E+03."""
    return re.fullmatch(r"\d+(\.\d+)?[eE]\+?\d+", text.strip()) is not None
