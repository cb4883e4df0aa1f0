"""Texts of pages and prints, as tests read them."""

from __future__ import annotations

import re

CHANCE = (
    r'(?<=csrfmiddlewaretoken" value=")[^"]*|(?<=X-CSRFToken": ")[^"]*|(?<=nonce=")[^"]*'
    r'|(?<=data-made=")[^"]*|(?<=name="as_of" value=")[^"]*'
)
TOKENS = re.compile(CHANCE)
RANDOM = re.compile(CHANCE + r"|[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def without_tokens(page: str) -> str:
    """``page`` without its tokens and the moment it was made, which differ from run to run."""
    return TOKENS.sub("…", page)


def steady(text: str) -> str:
    """``text`` without codes and tokens: they are random and hold now and then what must not be."""
    return RANDOM.sub("…", text)
