"""Shows."""

from __future__ import annotations

from typing import Any

from django import forms

from drill.field.fields import field_choice
from roster.people.models import Season


class ShowForm(forms.Form):
    name = forms.CharField(max_length=100)
    field_type = forms.ChoiceField(
        label="Field", help_text="The field its coordinates are written for."
    )

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["field_type"] = field_choice(season, self.fields["field_type"])
