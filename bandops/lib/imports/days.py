"""Days as people list them: with the day of the week before, without the year behind."""

from __future__ import annotations

import datetime
import re

from bandops.lib.dates import dated_words
from bandops.lib.imports.values import parse_date

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
NAMED = r"(mon|tues?|wed(?:nes)?|thu(?:rs?)?|fri|sat(?:ur)?|sun)(?:day)?\.?"
WEEKDAY = re.compile(rf"[(\[]?{NAMED}[)\]]?,?\s+", re.IGNORECASE)
BEHIND = re.compile(rf",?\s*[(\[]?\b{NAMED}[)\]]?$", re.IGNORECASE)
ORDINAL = re.compile(r"(?<=\d)(?:st|nd|rd|th)\b", re.IGNORECASE)
NO_YEAR = ("%m/%d %Y", "%b %d %Y", "%B %d %Y", "%d %b %Y", "%d %B %Y")


def parse_day(text: str, first: datetime.date, last: datetime.date) -> datetime.date | None:
    """A date; one without a year is that from ``first`` to ``last``. None when empty."""
    written = text.strip()
    weekday = WEEKDAY.match(written) or BEHIND.search(written)
    without = written[: weekday.start()] + written[weekday.end() :] if weekday else written
    rest = ORDINAL.sub("", without if without.strip() else written)
    try:
        day = parse_date(rest)
    except ValueError as error:
        day = _short(rest, first, last)
        if day is None:
            raise ValueError(str(error).replace(f"“{rest}”", f"“{text}”")) from None
    if day is not None and weekday and WEEKDAYS[day.weekday()] != weekday[1][:3].lower():
        raise ValueError(f"“{text}” is a {dated_words(day)[:3]}: check the day.")
    return day


def _short(text: str, first: datetime.date, last: datetime.date) -> datetime.date | None:
    """The day of a text with a short year or none, within the dates given."""
    years = range(first.year, last.year + 1)
    forms = [(year, form) for year in years for form in (*NO_YEAR, f"%m/%d/{year % 100:02} %Y")]
    for year, form in forms:
        try:
            day = datetime.datetime.strptime(f"{text.rstrip('. ')} {year}", form).date()
        except ValueError:
            continue
        if first <= day <= last:
            return day
    return None
