"""Fields that all these forms share."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from roster.equipment import queries
from roster.equipment.enums import Condition
from roster.equipment.models import Item, Kind
from roster.equipment.models.kinds import MOST_CENTS


class DollarsField(forms.DecimalField):
    """Dollars as people type them, kept as cents."""

    def __init__(self, **options: Any) -> None:
        most = Decimal(MOST_CENTS) / 100
        super().__init__(min_value=0, max_value=most, decimal_places=2, **options)

    def to_python(self, value: Any) -> Any:
        text = "" if value is None else str(value).strip().removeprefix("$").replace(",", "")
        return super().to_python(text)

    def clean(self, value: Any) -> Any:
        found = super().clean(value)
        return None if found is None else int(found * 100)

    def prepare_value(self, value: Any) -> Any:
        return f"{value / 100:.2f}" if isinstance(value, int) else value


class TagField(forms.CharField):
    """An item by its tag: typed, or scanned from its label (which is an address of this site)."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=200, **options)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        more = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}
        more["data-say"] = "yes"  # what waits on a device is called by it
        return super().widget_attrs(widget) | more

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        item = find(text)
        if item is None:
            raise forms.ValidationError(f"No item has the tag “{tag_of(text)}”.")
        return item


def tag_of(text: str) -> str:
    """The tag in what was typed or scanned."""
    return text.strip().rstrip("/").rsplit("/", 1)[-1]


def find(text: str) -> Item | None:
    """The item of a tag."""
    return queries.item_by_tag(tag_of(text))


class KindField(forms.ModelChoiceField[Kind]):
    """A kind."""

    def __init__(self, **options: Any) -> None:
        super().__init__(queryset=Kind.objects.all(), **options)


class ConditionField(forms.TypedChoiceField):
    """A condition; where it may stay ``as_it_was``, None."""

    def __init__(self, *, as_it_was: bool = False, **options: Any) -> None:
        first = [("", "as it was")] if as_it_was else []
        choices = [*first, *Condition.choices]
        more: dict[str, Any] = {"required": False, "empty_value": None} if as_it_was else {}
        super().__init__(choices=choices, coerce=int, **more, **options)
