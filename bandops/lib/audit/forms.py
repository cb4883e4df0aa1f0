"""How the history is searched."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.text import capfirst

from bandops.lib.audit.naming import table_name
from bandops.lib.audit.triggers import audited_models
from bandops.lib.web.forms import DayField

EVERY_KIND = "Everything"


def _kinds() -> list[tuple[str, str]]:
    """The tables, in words and in their order."""
    own = [m._meta.db_table for m in audited_models() if not m._meta.auto_created]
    words = sorted((capfirst(table_name(table)), table) for table in own)
    return [("", EVERY_KIND), *((table, word) for word, table in words)]


class LooksForm(forms.Form):
    """By whom, whose data, on which day; whatever is empty or cannot be meant asks nothing."""

    about = forms.CharField(label="Member", required=False, max_length=100)
    who = forms.CharField(label="Who looked", required=False, max_length=100)
    day = DayField(label="Day", required=False)

    def asked(self) -> dict[str, Any]:
        self.is_valid()
        data: dict[str, Any] = getattr(self, "cleaned_data", {})
        return {name: value for name, value in data.items() if value}


class HistoryForm(LooksForm):
    """Also by kind."""

    who = forms.CharField(label="Who did it", required=False, max_length=100)
    kind = forms.ChoiceField(label="What", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["kind"].choices = _kinds()  # type: ignore[attr-defined]
