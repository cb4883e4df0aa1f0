"""Instruments and parts."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from bandops.lib.imports.values import parse_list
from bandops.lib.imports.words import LONGEST_WORD
from roster.people import queries
from roster.people.models import Instrument, Part, Season
from roster.people.services.words import names_of


class InstrumentForm(forms.ModelForm[Instrument]):
    class Meta:
        model = Instrument
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is already an instrument by that name."}
        }
        fields = ["name", "school_stock", "order"]
        help_texts = {
            "school_stock": "How many are ready to hand out. Empty: players bring their own."
        }


class PartForm(forms.ModelForm[Part]):
    also_called = forms.CharField(
        label="also called",
        required=False,
        max_length=500,
        help_text="What files call it, separated by commas, such as Clar, Clarinets.",
    )

    class Meta:
        model = Part
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is already a part with that code."}
        }
        fields = ["instrument", "name", "code", "order"]
        help_texts = {"code": "Its short name in files, such as trumpet-2."}

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season
        self.code_before = self.instance.code
        if self.instance.pk:
            self.initial["also_called"] = ", ".join(names_of(self.instance))
        field = self.fields["instrument"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = queries.instruments(season)

    def clean_also_called(self) -> list[str]:
        """The names, each short enough to be kept."""
        names = parse_list(self.cleaned_data["also_called"])
        if any(len(name) > LONGEST_WORD for name in names):
            raise forms.ValidationError(f"A name is at most {LONGEST_WORD} characters.")
        return names
