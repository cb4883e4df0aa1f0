"""How coordinates are written; the band's own fields; the choice of a field."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.names import clean_name
from drill.field.core.field import FIELD_WIDTH
from drill.field.core.spoken import feet_words
from drill.field.core.spoken_reading import read_length
from drill.field.models import CustomField, DrillSettings


class WritingForm(forms.ModelForm[DrillSettings]):
    class Meta:
        model = DrillSettings
        fields = ["seen_from", "precision", "depth"]
        labels = {
            "seen_from": "Sides are seen",
            "precision": "Distances are written",
            "depth": "Depth of the field",
        }
        help_texts = {
            "seen_from": "Side 1 is on your left as you look, side 2 on your right.",
            "depth": "Stored coordinates are always exact; rounding is only for show.",
        }


class LengthField(forms.CharField):
    """A length with its unit; its value is in 1/32 inch."""

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            return read_length(text)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None


class CustomFieldForm(forms.Form):
    name = forms.CharField(max_length=40)
    front = LengthField(
        label="Front hash, from the front sideline",
        max_length=40,
        help_text="With its unit: 53 ft 4 in, 28 steps, 18.3 m.",
    )
    back = LengthField(
        label="Back hash, from the back sideline",
        max_length=40,
        required=False,
        help_text="Empty: the same distance from its own sideline.",
    )

    def __init__(self, field: CustomField, *args: Any, **kwargs: Any) -> None:
        self.instance = field
        if field.pk:
            kwargs["initial"] = {
                "name": field.name,
                "front": feet_words(field.front_hash),
                "back": feet_words(FIELD_WIDTH - field.back_hash),
            }
        super().__init__(*args, **kwargs)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        front, back = data.get("front"), data.get("back")
        if front is None or "back" in self.errors:
            return data
        back = front if back is None else back
        if min(front, back) <= 0 or front + back >= FIELD_WIDTH:
            raise forms.ValidationError(
                "The front hash must be in front of the back hash, both between the sidelines, "
                f"which are {feet_words(FIELD_WIDTH)} apart."
            )
        self.instance.name = clean_name(data.get("name", ""))
        self.instance.front_hash, self.instance.back_hash = front, FIELD_WIDTH - back
        return data
