"""What a form cannot do without, said once for the server and for the page's script."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, ClassVar

from django import forms


@dataclass(frozen=True)
class Need:
    """A field that must be filled, unless one ``instead`` of it is; with ``when`` only where that
    field has that value."""

    field: str
    says: str
    when: tuple[str, str] | None = None
    instead: tuple[str, ...] = ()

    def is_met(self, data: Mapping[str, Any]) -> bool:
        if self.when is not None and data.get(self.when[0]) != self.when[1]:
            return True
        return any(data.get(name) for name in (self.field, *self.instead))


class NeedyForm(forms.Form):
    """A form whose page checks the same needs before anything waits on a phone."""

    needs: ClassVar[tuple[Need, ...]] = ()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for need in self.needs:
            if need.field not in self.errors and not need.is_met(data):
                self.add_error(need.field, need.says)
        return data

    @property
    def needs_told(self) -> str:
        """The needs, for the page's script."""
        return json.dumps([asdict(need) for need in self.needs])
