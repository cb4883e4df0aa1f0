"""An entry of the practice log."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.errors import Refused
from bandops.lib.web.forms import KeyedForm


class PracticeForm(KeyedForm):
    """A member worked on a spot; what is missing or cannot be meant is said by name."""

    member = forms.IntegerField(min_value=1, max_value=10**9)
    spot = forms.IntegerField(min_value=1, max_value=10**9)
    show = forms.IntegerField(min_value=1, max_value=10**9)
    first_set = forms.IntegerField(required=False, min_value=1, max_value=10**9)
    last_set = forms.IntegerField(required=False, min_value=1, max_value=10**9)

    def told(self) -> dict[str, Any]:
        for name in ("member", "spot", "show"):
            if name in self.errors:
                raise Refused(f"Choose a {name}.")
        for name in ("first_set", "last_set"):
            if name in self.errors:
                raise Refused(f"“{self.data[name][:20]}” is not a set: choose one from the list.")
        return super().told()
