"""The language of all pages. Django asks here first, and its own formats for what is missing."""

from __future__ import annotations

from bandops.lib.dates import CLOCK, DAY

TIME_FORMAT = CLOCK
DATE_FORMAT = SHORT_DATE_FORMAT = DAY
DATETIME_FORMAT = SHORT_DATETIME_FORMAT = f"{DAY}, {TIME_FORMAT}"
MONTH_DAY_FORMAT = "M j"
YEAR_MONTH_FORMAT = "M Y"
