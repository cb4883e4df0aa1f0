"""A kind with its figures."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms

from roster.equipment.core.sizes import BadSize, Unit, parse_difference
from roster.equipment.entries import bands_text, ease_text, number_text, read_bands, read_ease
from roster.equipment.enums import Measure, UnitChoice
from roster.equipment.forms.fields import DollarsField
from roster.equipment.models import Figure, Kind
from roster.equipment.services.keeping import FigureWanted
from roster.people import queries as people_queries
from roster.people.models import Season


class KindForm(forms.ModelForm[Kind]):
    """What a kind is; its figures are forms of their own."""

    cents = DollarsField(label="What a lost one costs, in dollars", required=False)

    class Meta:
        model = Kind
        fields = ["name", "use", "instruments", "handed", "spares", "on_truck", "cents", "order"]
        widgets = {"instruments": forms.CheckboxSelectMultiple}
        labels = {"use": "What it is", "instruments": "Needed by", "on_truck": "Goes on the truck"}
        help_texts = {
            "instruments": "Check none of a uniform piece that everybody needs, and of equipment "
            "that is nobody's own. For an instrument: whose it is; from then on the school's are "
            "counted by its items.",
            "spares": "A fitting leaves as many in each size, if it can.",
        }

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["instruments"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        field.queryset = people_queries.instruments(season)
        if self.instance.pk:
            self.initial["instruments"] = self.instance.instruments.filter(season=season)

    def clean_cents(self) -> int:
        return self.cleaned_data["cents"] or 0


class FigureForm(forms.Form):
    """One figure; the empty ones are no figures."""

    measure = forms.ChoiceField(choices=[("", "none"), *Measure.choices], required=False)
    unit = forms.ChoiceField(label="Measured in", choices=UnitChoice.choices, required=False)
    ease = forms.CharField(
        label="Larger than the body by",
        max_length=40,
        required=False,
        help_text="Such as “2 to 4”: then a piece fits as it is.",
    )
    let_out = forms.CharField(label="Can be let out", max_length=20, required=False)
    take_in = forms.CharField(label="Can be taken in", max_length=20, required=False)
    alter_cents = DollarsField(label="One alteration costs, in dollars", required=False)
    step = forms.CharField(
        label="Sizes go up by", max_length=20, required=False, help_text="Such as 2, or 1/2."
    )
    bands = forms.CharField(
        label="Named sizes",
        max_length=500,
        required=False,
        widget=forms.Textarea({"rows": 2}),
        help_text="Such as “S: 34-36; M: 36-38”. A body of exactly 36 is an M.",
    )

    @staticmethod
    def told(figure: Figure) -> dict[str, Any]:
        """A figure as the form writes it."""
        return {
            "measure": figure.measure,
            "unit": figure.unit,
            "ease": ease_text(figure),
            "let_out": number_text(figure, figure.let_out),
            "take_in": number_text(figure, figure.take_in),
            "alter_cents": figure.alter_cents,
            "step": number_text(figure, figure.step),
            "bands": bands_text(figure),
        }

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        if not data.get("measure"):
            return data
        unit = Unit(data.get("unit") or Unit.INCH)
        if (unit is Unit.NUMBER) != (data["measure"] == Measure.FOOT):
            self.add_error("unit", "Shoes have size numbers, and nothing else has.")
        read: dict[str, Callable[[str], Any]] = {
            "ease": lambda text: read_ease(text, Unit.NUMBER if self._has_bands else unit),
            "let_out": lambda text: max(0, parse_difference(text or "0", unit)),
            "take_in": lambda text: max(0, parse_difference(text or "0", unit)),
            "step": lambda text: max(1, parse_difference(text or "1", unit)),
            "bands": lambda text: read_bands(text, unit),
        }
        for name, reading in read.items():
            try:
                data[name] = reading(data.get(name) or "")
            except BadSize as error:
                self.add_error(name, str(error))
        if self._has_bands and isinstance(data.get("ease"), tuple):
            low, high = data["ease"]
            data["ease"] = (low // 2, high // 2)
        return data

    @property
    def _has_bands(self) -> bool:
        return bool((self.data.get(self.add_prefix("bands")) or "").strip())

    def wanted(self) -> FigureWanted | None:
        """The figure; None where the form is empty."""
        data = self.cleaned_data
        if not data.get("measure"):
            return None
        figure = Figure(
            measure=data["measure"],
            unit=data["unit"] or UnitChoice.INCH,
            ease_from=data["ease"][0],
            ease_to=data["ease"][1],
            let_out=data["let_out"],
            take_in=data["take_in"],
            alter_cents=data["alter_cents"] or 0,
            step=data["step"],
        )
        return FigureWanted(figure, data["bands"])


Figures = forms.formset_factory(FigureForm, extra=1, max_num=4, absolute_max=4)
