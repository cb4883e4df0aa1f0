"""What all forms share."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, TypeVar

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from bandops.lib.dates import FIRST_YEAR, LAST_YEAR, made_at
from bandops.lib.errors import Refused
from bandops.lib.validators import validate_in_reach

T = TypeVar("T")


def save_through(form: forms.BaseForm, service: Callable[[], T]) -> T | None:
    """The service's result, or None with its refusal put on the form so that nothing is lost."""
    try:
        return service()
    except Refused as error:
        form.add_error(None, error.message)
        for detail in error.details:
            form.add_error(None, detail)
    except ValidationError as error:
        _add_model_errors(form, error)
    return None


def is_done(form: forms.BaseForm, service: Callable[[], object]) -> bool:
    """True when the service did it, else its refusal is on the form."""
    return save_through(form, lambda: (service(),)) is not None


def _add_model_errors(form: forms.BaseForm, error: ValidationError) -> None:
    by_field: Mapping[str, list[str]] = getattr(error, "message_dict", {})
    if not by_field:
        form.add_error(None, error.messages)
    for name, texts in by_field.items():
        form.add_error(name if name in form.fields else None, texts)


class DateInput(forms.DateInput):
    input_type = "date"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%Y-%m-%d", **kwargs)


class TimeInput(forms.TimeInput):
    input_type = "time"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%H:%M", **kwargs)


class MomentInput(forms.DateTimeInput):
    input_type = "datetime-local"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%Y-%m-%dT%H:%M", **kwargs)


class ChanceField(forms.DecimalField):
    """A chance, typed in percent ("30", "30%") or as a share of one ("0.3"), and kept as the share:
    whatever is above one is percent."""

    widget = forms.TextInput

    def to_python(self, value: Any) -> Decimal | None:  # type: ignore[override]
        text = "" if value is None else str(value).strip()
        number: Decimal | None = super().to_python(text.removesuffix("%").strip())
        if number is None or not number.is_finite():
            return number
        return number / 100 if number > 1 or text.endswith("%") else number

    def prepare_value(self, value: Any) -> Any:
        return f"{float(100 * value):g}%" if isinstance(value, Decimal) else value

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"inputmode": "decimal", "autocomplete": "off"}


def only_for(*kinds: str) -> dict[str, str]:
    """Attributes of a field that is needed for some values of the form's ``kind`` alone: with
    scripts it only shows for them."""
    return {"data-only": " ".join(kinds)}


class DayField(forms.DateField):
    """A day of the years that anything may have."""

    widget = DateInput
    default_validators = [validate_in_reach]

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"min": f"{FIRST_YEAR}-01-01", "max": f"{LAST_YEAR}-12-31"}


class MomentField(forms.DateTimeField):
    """A day and a time of the years that anything may have."""

    widget = MomentInput
    default_validators = [validate_in_reach]

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        return {"min": f"{FIRST_YEAR}-01-01T00:00", "max": f"{LAST_YEAR}-12-31T23:59"}


class LocalMomentField(MomentField):
    """A date and time of a zone that the form knows: no conversion here."""

    def prepare_value(self, value: Any) -> Any:
        return value

    def to_python(self, value: Any) -> datetime.datetime | None:
        if not value:
            return None
        try:
            return datetime.datetime.fromisoformat(str(value)).replace(tzinfo=None)
        except ValueError:
            raise forms.ValidationError("Enter a date and a time.") from None


def whole_number(text: str) -> int | None:
    """What somebody typed or posted as a number that a row can have; None for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


class KeyedForm(forms.Form):
    """What every note carries: its own key, and by its phone's clock when it was made and sent."""

    key = forms.UUIDField()
    noted_at = forms.DateTimeField(required=False)
    sent_at = forms.DateTimeField(required=False)

    def told(self) -> dict[str, Any]:
        """The cleaned fields, ``noted_at`` by our clock; Refused when the page that sent them is
        not ours."""
        if not self.is_valid():
            raise Refused("That could not be read: open the page again.")
        told = dict(self.cleaned_data)
        sent = told.pop("sent_at")
        if told["noted_at"] is not None:
            told["noted_at"] = made_at(told["noted_at"], sent, timezone.now())
        return told
