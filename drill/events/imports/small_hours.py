"""Hours that a list of events writes without am or pm (common practice, no source)."""

from __future__ import annotations

import datetime
import re

from bandops.lib.dates import clock_words

SMALL = range(1, 7)
"""hours at which bands are called in the afternoon rather than in the night"""
EVENING = 18
"""what starts from here on may end after midnight"""
HALF_SAID = re.compile(r"\d\s*[ap]", re.IGNORECASE)


def daytime(
    text: str, found: datetime.time, starts: datetime.time | None = None
) -> tuple[datetime.time, str]:
    """What a time is read as, and what is told about it: 4:15 is in the afternoon, 04:15 is not.

    ``starts`` is given for the end of something that starts then.
    """
    if found.hour not in SMALL or HALF_SAID.search(text):
        return found, ""
    if starts is not None and starts.hour >= EVENING:
        return found, ""
    if text.strip().startswith("0"):
        told = f"“{text}” is in the morning: write PM if it is not."
        return found, "" if starts else told
    later = found.replace(hour=found.hour + 12)
    return later, f"“{text}” is read as {clock_words(later)}: write AM if it is in the morning."
