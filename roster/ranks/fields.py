"""A field that chooses a spot."""

from __future__ import annotations

from django import forms

from roster.ranks.models import Spot


class SpotField(forms.ModelChoiceField[Spot]):
    """One spot with its part."""

    def label_from_instance(self, obj: Spot) -> str:
        return f"{obj} ({obj.part})"
