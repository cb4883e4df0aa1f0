"""Replacing some texts in others."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any


@dataclass(frozen=True)
class Scrub:
    """What goes, and what stands in its place, in whatever case it is written."""

    instead: Mapping[str, str]

    @cached_property
    def _by_case(self) -> dict[str, str]:
        return {text.casefold(): new for text, new in self.instead.items()}

    @cached_property
    def _pattern(self) -> re.Pattern[str]:
        longest_first = sorted(self.instead, key=len, reverse=True)
        whole = (rf"(?<!\w){re.escape(text)}(?!\w)" for text in longest_first)
        return re.compile("|".join(whole), re.IGNORECASE)

    def text(self, value: str) -> str:
        """The text with each whole occurrence replaced: "Ana Ruiz" is not in "Ana Ruizova"."""
        return self._pattern.sub(lambda found: self._by_case.get(found[0].casefold(), ""), value)

    def value(self, value: Any) -> Any:
        """The same in a value of JSON: its texts and its keys."""
        if isinstance(value, str):
            return self.text(value)
        if isinstance(value, list):
            return [self.value(one) for one in value]
        if isinstance(value, dict):
            return {self.text(str(key)): self.value(one) for key, one in value.items()}
        return value

    def spellings(self) -> set[str]:
        """Each text as a column may hold it: as it is, and escaped as in JSON."""
        escaped = {json.dumps(text)[1:-1] for text in self.instead}
        return set(self.instead) | escaped
