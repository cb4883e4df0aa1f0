"""Log lines for machines to read, without what is private.

A failure's text may hold anything: an address of a person, the row that broke a rule, a link that
signs somebody in. All lines pass ``without_private``, tracebacks included.
"""

from __future__ import annotations

import datetime
import json
import logging
import re
from typing import Any

ADDRESS = re.compile(r"[\w.+-]+@[\w-]+(?:\.[\w-]+)+")
KEYS = re.compile(r"/(link/[\w-]+|calendar|tokens?)/[^\s/?\"']+")
DETAIL = re.compile(r"^\s*DETAIL:.*$", re.MULTILINE)
QUERY = re.compile(r"(/[\w/.-]*)\?[^\s\"']+")
QUOTED_KEY = re.compile(r"\(([^()]*)\)=\(([^()]*)\)")


def without_private(text: str) -> str:
    """The text without addresses, links that sign in, what a database quotes of a row, and what
    somebody searched for."""
    text = DETAIL.sub("DETAIL: (left out)", text)
    text = QUOTED_KEY.sub(r"(\1)=(…)", text)
    text = KEYS.sub(r"/\1/…", text)
    text = QUERY.sub(r"\1?…", text)
    return ADDRESS.sub("(address)", text)


class PlainFormatter(logging.Formatter):
    """For a person at a console."""

    def format(self, record: logging.LogRecord) -> str:
        return without_private(super().format(record))


class JsonFormatter(logging.Formatter):
    """One JSON object a line."""

    def format(self, record: logging.LogRecord) -> str:
        moment = datetime.datetime.fromtimestamp(record.created, datetime.UTC)
        line: dict[str, Any] = {
            "at": moment.isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "said": without_private(record.getMessage()),
            "process": record.process,
        }
        for name in ("status_code", "job", "seconds"):
            if (value := getattr(record, name, None)) is not None:
                line[name] = value
        if record.exc_info:
            line["trace"] = without_private(self.formatException(record.exc_info))
        return json.dumps(line, ensure_ascii=False)
