"""Instruments and parts."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from roster.people import queries
from roster.people.models import Instrument, Part, Season


class InstrumentForm(forms.ModelForm[Instrument]):
    class Meta:
        model = Instrument
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is an instrument of that name already."}
        }
        fields = ["name", "school_stock", "order"]
        help_texts = {
            "school_stock": "How many are ready to hand out; empty when players bring their own."
        }


class PartForm(forms.ModelForm[Part]):
    class Meta:
        model = Part
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is a part of that code already."}
        }
        fields = ["instrument", "name", "code", "order"]
        help_texts = {"code": "Its short name in files, such as trumpet-2."}

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season
        field = self.fields["instrument"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = queries.instruments(season)
