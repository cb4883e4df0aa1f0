"""The language of all pages. Django asks here first, and its own formats for what is missing."""

from __future__ import annotations

from bandops.lib.dates import DAY

TIME_FORMAT = "g:i A"
DATE_FORMAT = SHORT_DATE_FORMAT = DAY
DATETIME_FORMAT = SHORT_DATETIME_FORMAT = f"{DAY}, {TIME_FORMAT}"
MONTH_DAY_FORMAT = "j M"
YEAR_MONTH_FORMAT = "M Y"
