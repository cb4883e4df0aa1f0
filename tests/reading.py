"""Texts of pages and prints, as tests read them."""

from __future__ import annotations

import re

RANDOM = re.compile(
    r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
    r'|(?<=csrfmiddlewaretoken" value=")[^"]*|(?<=X-CSRFToken": ")[^"]*|(?<=nonce=")[^"]*'
)


def steady(text: str) -> str:
    """``text`` without codes and tokens: they are random and hold now and then what must not be."""
    return RANDOM.sub("…", text)
