"""Measurements, charges."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.web.forms import DayField, KeyedForm
from roster.equipment.core.sizes import BadSize, Size, Unit
from roster.equipment.entries import read_measurement
from roster.equipment.enums import Measure, UnitChoice
from roster.equipment.forms.fields import DollarsField, TagField
from roster.equipment.models import Charge
from roster.people import queries as people_queries
from roster.people.fields import MemberField
from roster.people.models import Season

LENGTHS = [c for c in UnitChoice.choices if c[0] != UnitChoice.NUMBER]


class MeasureForm(KeyedForm):
    """What was measured of one member; empty fields were not."""

    unit = forms.ChoiceField(label="Measured in", choices=LENGTHS, initial=UnitChoice.INCH)
    taken_on = DayField(label="On")
    growing = forms.BooleanField(
        label="Still growing",
        required=False,
        help_text="Then it is to be taken again after four months.",
    )
    left_handed = forms.BooleanField(label="Left-handed", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for measure in Measure:
            help_text = "A size number, such as 9 1/2." if measure is Measure.FOOT else ""
            self.fields[measure.value] = forms.CharField(
                label=measure.label.capitalize(), max_length=20, required=False, help_text=help_text
            )
        names = ["unit", *(m.value for m in Measure), "taken_on", "growing", "left_handed"]
        self.order_fields(names)
        for name in ("key", "noted_at", "sent_at"):
            self.fields[name].widget = forms.HiddenInput()

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        sizes: dict[str, Size] = {}
        for measure in Measure:
            text = (data.get(measure.value) or "").strip()
            unit = Unit.NUMBER if measure is Measure.FOOT else Unit(data.get("unit") or Unit.INCH)
            if not text:
                continue
            try:
                sizes[measure.value] = read_measurement(measure, text, unit)
            except BadSize as error:
                self.add_error(measure.value, str(error))
        data["sizes"] = sizes
        return data


class ChargeForm(forms.ModelForm[Charge]):
    """What a member owes."""

    item = TagField(label="For the item", required=False)
    cents = DollarsField(label="Dollars")

    class Meta:
        model = Charge
        fields = ["member", "item", "cents", "what"]
        field_classes = {"member": MemberField}
        labels = {"what": "What for"}

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["member"]
        assert isinstance(field, MemberField)
        field.queryset = people_queries.members(season)


class WaiveForm(forms.Form):
    """Why somebody need not pay."""

    why = forms.CharField(label="Why it is waived", max_length=200)
