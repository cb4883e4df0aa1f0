"""Days as people name them, counted from today within one season."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from drill.absences.core.phrases.tokens import Token, date_token
from drill.absences.core.phrases.vocabulary import Kind

WEEK = 7
SATURDAY, SUNDAY = 5, 6
JOINS = (Kind.TO, Kind.AND)


@dataclass(frozen=True, slots=True)
class Clock:
    """Today by the season's clock, and the season's first and last day."""

    today: datetime.date
    starts: datetime.date
    ends: datetime.date

    def weekday(self, number: int, first: datetime.date) -> datetime.date:
        """The first such weekday from a day on, that day included."""
        return first + datetime.timedelta((number - first.weekday()) % WEEK)

    def in_season(self, month: int, day: int) -> datetime.date | None:
        """The day of this season, the next from today where two years have it; None for none
        such. One outside the season is in the year of its first day."""
        found = []
        for year in range(self.starts.year, self.ends.year + 1):
            try:
                found.append(datetime.date(year, month, day))
            except ValueError:
                continue
        inside = [d for d in found if self.starts <= d <= self.ends]
        coming = [d for d in inside if d >= self.today]
        return next(iter(coming or inside or found), None)

    def of_month(self, day: int) -> datetime.date | None:
        """The next such day of a month, “the 5th”."""
        for ahead in range(62):
            it = self.today + datetime.timedelta(ahead)
            if it.day == day:
                return it
        return None

    def week_end(self, first: datetime.date) -> datetime.date:
        """The Sunday of a day's week."""
        return self.weekday(SUNDAY, first)


def month_and_day(token: Token) -> tuple[int, int]:
    """Of a ``MONTH_DAY``."""
    assert isinstance(token.value, tuple)
    month, day = token.value
    return int(month), int(day)


def with_months(tokens: list[Token]) -> list[Token]:
    """Months and the numbers beside them as one: Oct 3, 3 Oct 2026, Oct 3-5, 3-5 Oct."""
    found: list[Token] = []
    rest = list(tokens)
    while rest:
        taken, made = _month_first(rest) or _day_first(rest) or (1, [rest[0]])
        found += made
        del rest[:taken]
    return found


def _kinds(tokens: list[Token], *kinds: Kind) -> bool:
    numbers = (Kind.NUMBER, Kind.ORDINAL)
    return len(tokens) >= len(kinds) and all(
        t.kind is k or (k is Kind.NUMBER and t.kind in numbers)
        for t, k in zip(tokens, kinds, strict=False)
    )


def _month_first(t: list[Token]) -> tuple[int, list[Token]] | None:
    if not _kinds(t, Kind.MONTH, Kind.NUMBER):
        return None
    first = Token(Kind.MONTH_DAY, (t[0].value, t[1].value))
    joined = any(_kinds(t, Kind.MONTH, Kind.NUMBER, word, Kind.NUMBER) for word in JOINS)
    if joined and not any(_kinds(t[3:], Kind.NUMBER, word) for word in (Kind.MONTH, Kind.LENGTH)):
        return 4, [first, t[2], Token(Kind.MONTH_DAY, (t[0].value, t[3].value))]
    return _with_year(t, 2, first)


def _day_first(t: list[Token]) -> tuple[int, list[Token]] | None:
    if _kinds(t, Kind.NUMBER, Kind.TO, Kind.NUMBER, Kind.MONTH):
        first, last = (Token(Kind.MONTH_DAY, (t[3].value, t[n].value)) for n in (0, 2))
        return 4, [first, t[1], last]
    if not _kinds(t, Kind.NUMBER, Kind.MONTH):
        return None
    return _with_year(t, 2, Token(Kind.MONTH_DAY, (t[1].value, t[0].value)))


def _with_year(t: list[Token], taken: int, first: Token) -> tuple[int, list[Token]]:
    """With a year behind it: a number of four digits."""
    year = t[taken].value if _kinds(t[taken:], Kind.NUMBER) else None
    if not isinstance(year, int) or year < 1000:
        return taken, [first]
    month, day = month_and_day(first)
    return taken + 1, [date_token(year, month, day)]
