"""Items: one, several at once, handing out, taking back, work."""

from __future__ import annotations

import re
import uuid
from typing import Any

from django import forms

from bandops.lib.web.forms import DayField, KeyedForm
from roster.equipment.core.sizes import BadSize
from roster.equipment.entries import number_text, read_value
from roster.equipment.enums import Condition
from roster.equipment.forms.fields import ConditionField, KindField, TagField
from roster.equipment.models import Figure, Item, Kind
from roster.people import queries as people_queries
from roster.people.fields import MemberField
from roster.people.models import Season

MOST_AT_ONCE = 200


class SizedForm(forms.Form):
    """A form with a field for each figure of a kind."""

    figures: list[Figure]

    def add_sizes(self, kind: Kind, item: Item | None = None) -> None:
        """A field a figure, filled with the item's."""
        self.figures = list(kind.figures.prefetch_related("bands"))
        known = {s.figure_id: s for s in item.sizes.all()} if item is not None and item.pk else {}
        for figure in self.figures:
            size = known.get(figure.pk)
            now = ""
            if size is not None:
                named = size.band.name if size.band is not None else None
                now = named or number_text(figure, size.ticks or 0)
            bands = [b.name for b in figure.bands.all()]
            unit = figure.get_unit_display()
            help_text = f"One of {', '.join(bands)}." if bands else f"In {unit}."
            label = str(figure.get_measure_display()).capitalize()
            field = forms.CharField(
                label=label, max_length=20, required=False, initial=now, help_text=help_text
            )
            self.fields[f"size_{figure.pk}"] = field

    def read_sizes(self) -> dict[Figure, Any]:
        """Figure -> ticks, a named size, or None; what cannot be read becomes a fault."""
        found: dict[Figure, Any] = {}
        for figure in self.figures:
            name = f"size_{figure.pk}"
            text = (self.cleaned_data.get(name) or "").strip()
            try:
                found[figure] = read_value(figure, text) if text else None
            except BadSize as error:
                self.add_error(name, str(error))
        return found


class NewItemForm(forms.Form):
    """Which kind a new item is of: the fields that follow depend on it."""

    kind = KindField()


class ItemForm(SizedForm):
    """One item."""

    tag = forms.CharField(max_length=30, help_text="The number on it; unique in the whole store.")
    condition = forms.TypedChoiceField(
        choices=Condition.choices, coerce=int, initial=Condition.GOOD
    )
    left_handed = forms.BooleanField(required=False)
    place = forms.CharField(label="Where it is kept", max_length=60, required=False)
    part_of = TagField(
        label="Part of",
        required=False,
        help_text="The tag of what it belongs to, such as the body of a bell: they go together.",
    )
    note = forms.CharField(max_length=200, required=False)

    def __init__(self, item: Item, data: Any = None) -> None:
        self.item = item
        names = ("tag", "condition", "left_handed", "place", "note")
        initial = {name: getattr(item, name) for name in names}
        initial["part_of"] = item.part_of.tag if item.part_of else ""
        super().__init__(data, initial=initial)
        self.add_sizes(item.kind, item)
        if not item.kind.handed:
            del self.fields["left_handed"]

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        data["sizes"] = self.read_sizes()
        return data

    def filled(self) -> Item:
        """The item as the form has it."""
        for name in ("tag", "condition", "left_handed", "place", "part_of", "note"):
            if name in self.cleaned_data:
                setattr(self.item, name, self.cleaned_data[name])
        return self.item


class SeveralForm(SizedForm):
    """Several items of one size: tags that count up."""

    first = forms.CharField(label="First tag", max_length=30, help_text="Such as J-101.")
    count = forms.IntegerField(label="How many", min_value=1, max_value=MOST_AT_ONCE)
    condition = ConditionField(initial=Condition.NEW)
    place = forms.CharField(label="Where they are kept", max_length=60, required=False)

    def __init__(self, kind: Kind, *args: Any, **kwargs: Any) -> None:
        self.kind = kind
        super().__init__(*args, **kwargs)
        self.add_sizes(kind)

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        data["sizes"] = self.read_sizes()
        match = re.fullmatch(r"(.*?)(\d+)", (data.get("first") or "").strip())
        if match is None and data.get("first"):
            self.add_error("first", "End the tag with a number to count from.")
        elif match is not None and data.get("count"):
            start, digits = match[1], match[2]
            data["tags"] = [
                f"{start}{int(digits) + n:0{len(digits)}d}" for n in range(data["count"])
            ]
        return data

    def items(self) -> list[tuple[Item, dict[Figure, Any]]]:
        """The items with their sizes."""
        data = self.cleaned_data
        sizes = {figure: value for figure, value in data["sizes"].items() if value is not None}
        more = {"condition": data["condition"], "place": data["place"]}
        return [(Item(kind=self.kind, tag=tag, **more), sizes) for tag in data["tags"]]


class HandOutForm(KeyedForm):
    """An item to a member, at the desk; it may wait on the device."""

    tag = TagField(label="Tag", help_text="Type it, or scan the label.")
    member = MemberField(queryset=None)
    condition = ConditionField(as_it_was=True)
    due = DayField(label="Lent until", required=False)
    note = forms.CharField(max_length=200, required=False)

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["member"]
        assert isinstance(field, MemberField)
        field.queryset = people_queries.active_members(season)
        for name in ("key", "noted_at", "sent_at"):
            self.fields[name].widget = forms.HiddenInput()


class TakeBackForm(KeyedForm):
    """An item back from whoever has it."""

    tag = TagField(label="Tag", help_text="Type it, or scan the label.")
    condition = forms.TypedChoiceField(
        choices=Condition.choices, coerce=int, initial=Condition.GOOD
    )
    note = forms.CharField(max_length=200, required=False)
    without = forms.CharField(
        label="Came without",
        max_length=200,
        required=False,
        help_text="Tags of linked parts that are still out, separated by commas.",
    )

    def __init__(self, data: Any = None, initial: dict[str, Any] | None = None) -> None:
        # Both forms stand on one page.
        super().__init__(data, initial=initial, auto_id="back_%s")
        for name in ("key", "noted_at", "sent_at"):
            self.fields[name].widget = forms.HiddenInput()

    @classmethod
    def fresh(cls, tag: str = "") -> TakeBackForm:
        """One to be filled in."""
        return cls(initial={"key": uuid.uuid4(), "tag": tag})


class MoveForm(forms.Form):
    """An item is missing, there again, or retired."""

    what = forms.ChoiceField(
        choices=[("missing", "missing"), ("found", "found"), ("retire", "retire")]
    )
    note = forms.CharField(max_length=200, required=False)
