"""What the checks of moves warn about."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from drill.field.core.field import UNITS_PER_STEP
from drill.field.models import DrillSettings
from drill.shows.models import StepLimit
from drill.shows.wording import figure, read_step, write_step
from roster.people.models import Instrument, Season


class StepField(forms.Field):
    """A step's size, n-to-5 or in inches; whole 1/32 inches when read."""

    widget = forms.TextInput(attrs={"maxlength": 20})

    def to_python(self, value: Any) -> Any:
        text = str(value or "")
        if not text.strip():
            return None
        try:
            return read_step(text)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error

    def prepare_value(self, value: Any) -> Any:
        return write_step(value) if isinstance(value, int) else value


class MoveSettingsForm(forms.Form):
    """The limits for everybody."""

    largest_step = StepField(
        label="Largest step",
        help_text="As 6-to-5, or in inches as 30 in. Larger steps get a warning.",
    )
    closest_gap = forms.DecimalField(
        label="Closest gap between two people, in steps",
        min_value=0,
        max_value=10,
        max_digits=5,
        decimal_places=3,
        help_text="Anybody closer than this on a move gets a warning. 0: no warning.",
        widget=forms.NumberInput(attrs={"inputmode": "decimal", "step": "any"}),
    )

    def __init__(self, row: DrillSettings, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {
            "largest_step": row.largest_step,
            "closest_gap": figure(row.closest_gap / UNITS_PER_STEP, 3),
        }
        super().__init__(*args, **kwargs)

    def clean_closest_gap(self) -> int:
        """Whole 1/32 inches."""
        return round(Decimal(self.cleaned_data["closest_gap"]) * UNITS_PER_STEP)


class StepLimitForm(forms.ModelForm[StepLimit]):
    """A limit for an instrument, a direction, from a tempo on."""

    largest_step = StepField(label="Largest step", help_text="As 6-to-5, or in inches as 30 in.")

    class Meta:
        model = StepLimit
        fields = ["instrument", "direction", "from_tempo", "largest_step"]
        help_texts = {"from_tempo": "Beats per minute. 0: every tempo."}

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season
        field = self.fields["instrument"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Instrument.objects.filter(season=season)
        field.empty_label = "everybody"
