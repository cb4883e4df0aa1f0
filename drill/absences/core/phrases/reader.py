"""The pieces of a phrase taken one after another: what they say of days and times."""

from __future__ import annotations

import datetime
from decimal import Decimal

from drill.absences.core.availability import Said
from drill.absences.core.phrases.days import SATURDAY, WEEK, Clock
from drill.absences.core.phrases.tokens import Token, time_token
from drill.absences.core.phrases.vocabulary import Kind, Reason

DAYS = {Kind.DAY, Kind.MONTH_DAY, Kind.WEEKDAY, Kind.FROM_TODAY, Kind.ORDINAL}
DATES = {Kind.DAY, Kind.MONTH_DAY}
ENDS = {Kind.UNTIL, Kind.TO}
NEXT_DOUBT = "“Next” may mean this week or the one after."
ONE_DAY = datetime.timedelta(1)


class Reader:
    """What was said so far; ``doubts`` are sentences that never repeat the phrase."""

    def __init__(self, clock: Clock, tokens: list[Token]) -> None:
        self.clock, self.tokens = clock, tokens
        self.at = 0
        self.said: Said | None = None
        self.start: datetime.date | None = None
        self.end: datetime.date | None = None
        self.open = self.doubtful = False
        self.loose: datetime.time | None = None
        self.chance: Decimal | None = None
        self.times: dict[Said, datetime.time] = {}
        self.reasons: list[Reason] = []
        self.segments: dict[str, None] = {}
        self.doubts: dict[str, None] = {}

    def run(self) -> None:
        """Take every piece."""
        while self.at < len(self.tokens):
            token = self.tokens[self.at]
            self.at += 1
            self._take(token)

    def doubt(self, message: str) -> None:
        """Something a person must look at."""
        self.doubts[message] = None

    def _peek(self, ahead: int = 0) -> Token:
        place = self.at + ahead
        return self.tokens[place] if 0 <= place < len(self.tokens) else Token(Kind.FILLER)

    def _take(self, token: Token) -> None:
        kind, value = token.kind, token.value
        if kind in DAYS:
            self._day(token)
        elif kind in ENDS or kind is Kind.AFTER:
            self._after_word(kind)
        elif kind in (Kind.FROM, Kind.SINCE):
            self._begin(kind)
        elif kind is Kind.BACK:
            self._back()
        elif kind is Kind.TIME:
            self._time(token)
        elif kind is Kind.NUMBER:
            self._number(value)
        elif kind is Kind.SPAN:
            self._span(str(value))
        elif kind is Kind.NEXT:
            self._next()
        elif isinstance(value, Said):
            self._say(value)
        elif isinstance(value, Reason):
            self.reasons.append(value)
        else:
            self._mark(token)

    def _mark(self, token: Token) -> None:
        if token.kind is Kind.DOUBT:
            self.doubtful = True
        elif token.kind is Kind.CHANCE and isinstance(token.value, Decimal):
            self.doubtful, self.chance = True, token.value
        elif token.kind is Kind.OPEN:
            self.open = True
        elif token.kind is Kind.SEGMENT:
            self.segments[str(token.value)] = None
        elif token.kind in (Kind.UNKNOWN, Kind.MONTH, Kind.LENGTH):
            self.doubt("Part of it could not be read.")

    def _say(self, said: Said) -> None:
        """“Out until 5” begins as out; a word that says more wins over it."""
        if self.said in (None, said) or self.said is Said.OUT:
            self.said = said
        elif said is not Said.OUT:
            self.doubt("It says two things at once.")

    # Days

    def _resolved(self, token: Token, first: datetime.date) -> datetime.date | None:
        day: datetime.date | None = None
        value = token.value
        if isinstance(value, datetime.date):
            day = value
        elif isinstance(value, tuple):
            day = self.clock.in_season(*value)
        elif token.kind is Kind.FROM_TODAY and isinstance(value, int):
            day = self.clock.today + value * ONE_DAY
        elif token.kind is Kind.WEEKDAY and isinstance(value, int):
            day = self.clock.weekday(value, first)
        elif token.kind is Kind.ORDINAL and isinstance(value, int):
            day = self.clock.of_month(value)
        if day is None:
            self.doubt("There is no such day.")
        elif not self.clock.starts <= day <= self.clock.ends:
            self.doubt("A day is outside the season.")
        return day

    def _day(self, token: Token) -> None:
        """A day alone, or the first of several."""
        joins = self.end is not None and self._peek(-2).kind is Kind.AND
        first = self.end + ONE_DAY if self.end is not None and joins else self.clock.today
        day = self._resolved(token, first)
        if day is None:
            return
        if token.kind is Kind.WEEKDAY and self._peek().kind in DATES:
            self._dated_weekday(day)
            return
        if joins and day == first:
            self.end = day
            return
        if self.start is not None or self.end is not None:
            self.doubt("It names several days: enter each one separately.")
            return
        self.start = self.end = day

    def _dated_weekday(self, weekday: datetime.date) -> None:
        """“Fri 10/2” is one day, which the date tells."""
        token = self._peek()
        self.at += 1
        day = self._resolved(token, self.clock.today)
        if day is not None and day.weekday() != weekday.weekday():
            self.doubt("The weekday does not match the date.")
        self._day(Token(Kind.DAY, day) if day is not None else token)

    def _ending(self, token: Token) -> None:
        day = self._resolved(token, self.start or self.clock.today)
        if day is not None:
            self.end = day

    def _after_word(self, kind: Kind) -> None:
        """Behind until, to, a dash or after: a day ends it, a time is late until or leaves at."""
        token = self._peek()
        if token.kind in DAYS and kind is not Kind.AFTER:
            self.at += 1
            self._ending(token)
            return
        if token.kind is Kind.SPAN and kind is not Kind.AFTER:
            return
        if self._beside_a_segment():
            return
        time = self._time_here()
        if time is None:
            if kind is not Kind.TO:
                self.doubt("It does not say until when.")
            return
        said = Said.LEAVES if kind is Kind.AFTER or self.said is Said.LEAVES else Said.LATE
        self._say(said)
        self.times[said] = time

    def _begin(self, kind: Kind) -> None:
        """From a day on; without an end it stays open."""
        token = self._peek()
        if token.kind in DAYS:
            self.at += 1
            day = self._resolved(token, self.clock.today)
            if day is not None and kind is Kind.SINCE and day > self.clock.today:
                day -= WEEK * ONE_DAY
            self.start, self.open = day, True
            return
        time = self._time_here()
        if time is not None:
            self._say(Said.LEAVES)
            self.times[Said.LEAVES] = time

    def _beside_a_segment(self) -> bool:
        """Until, after or back by a segment: which ones that leaves out is not read."""
        ahead = 1 if self._peek().kind is Kind.FILLER else 0
        if self._peek(ahead).kind is not Kind.SEGMENT:
            return False
        self.at += ahead + 1
        self.doubt("Which segments do they miss?")
        return True

    def _back(self) -> None:
        """Back on a day: out until the day before; back now: in."""
        if self._beside_a_segment():
            return
        token = self._peek()
        if token.kind in (Kind.FILLER, Kind.NEXT) and self._peek(1).kind in DAYS:
            if token.kind is Kind.NEXT:
                self.doubt(NEXT_DOUBT)
            self.at += 1
            token = self._peek()
        if token.kind is Kind.REASON:
            return  # a back that hurts is no return
        if token.kind not in DAYS:
            self._say(Said.IN)
            return
        self.at += 1
        later = self.clock.today + ONE_DAY
        day = self._resolved(token, max(self.start or later, later))
        if day is not None and day <= self.clock.today:
            self._say(Said.IN)
            self.start, self.open = day, True
        elif day is not None:
            self.end = day - ONE_DAY

    def _span(self, value: str) -> None:
        today = self.clock.today
        if value == "season":
            self.end = self.clock.ends
        elif value == "weekend":
            first = today if today.weekday() > SATURDAY else self.clock.weekday(SATURDAY, today)
            self.start, self.end = self.start or first, self.clock.week_end(first)
        elif value == "week" and today == self.clock.week_end(today):
            self.doubt("Which week? Today is the last day of this one.")
            self.start, self.end = self.start or today, today + WEEK * ONE_DAY
        else:
            first = today if value == "week" else self.clock.week_end(today) + ONE_DAY
            self.start, self.end = self.start or first, self.clock.week_end(first)

    def _next(self) -> None:
        """People disagree on which week “next Tuesday” is in."""
        token = self._peek()
        if token.kind is not Kind.WEEKDAY:
            return
        self.doubt(NEXT_DOUBT)
        self.at += 1
        monday = self.clock.week_end(self.clock.today) + ONE_DAY
        self._day(Token(Kind.DAY, self._resolved(token, monday)))

    # Times and lengths

    def _time_here(self) -> datetime.time | None:
        """The time that stands next, “5” too."""
        token = self._peek()
        if token.kind is Kind.FILLER and self._peek(1).kind in (Kind.TIME, Kind.NUMBER):
            self.at += 1
            token = self._peek()
        if token.kind is Kind.NUMBER and isinstance(token.value, int):
            token = time_token(token.value)
        if not isinstance(token.value, datetime.time):
            return None
        self.at += 1
        if not token.sure:
            self.doubt("Is the time AM or PM?")
        return token.value

    def _time(self, token: Token) -> None:
        self.at -= 1
        time = self._time_here()
        if time is None:
            self.at += 1
            self.doubt("There is no such time.")
            return
        if self.said in (Said.LATE, Said.LEAVES):
            self.times[self.said] = time
        else:
            self.loose = time

    def _number(self, value: object) -> None:
        """“3 days”, “a week”; behind late or leaves an hour."""
        token = self._peek()
        if token.kind is Kind.LENGTH and isinstance(value, int) and isinstance(token.value, int):
            self.at += 1
            first = self.start or self.clock.today
            self.end = first + (min(value * token.value, 400) - 1) * ONE_DAY
        elif self.said in (Said.LATE, Said.LEAVES) and not self.times:
            self._time(token)
        elif value != 1:
            self.doubt("Part of it could not be read.")
