"""What all forms keep to."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator

import pytest
from django import forms

import drill.forms
import roster.forms
from bandops.lib.dates import OUT_OF_REACH
from bandops.lib.web.forms import DayField, LocalMomentField, MomentField

MADE_BY_PHONES = {"noted_at"}
"""when a note was made, by a clock that may be wrong: such notes are taken as made now"""


def field_classes() -> Iterator[tuple[type[forms.BaseForm], str, forms.Field]]:
    """Every field that a form of the roster or the drill declares."""
    for package in (roster.forms, drill.forms):
        for module in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
            for it in vars(importlib.import_module(module.name)).values():
                if isinstance(it, type) and issubclass(it, forms.BaseForm):
                    for name, field in getattr(it, "base_fields", {}).items():
                        yield it, name, field


def test_every_date_has_the_bounds_of_all_dates() -> None:
    days, moments = 0, 0
    for form, name, field in field_classes():
        if isinstance(field, forms.DateField):
            days += 1
            assert isinstance(field, DayField), f"{form.__name__}.{name}"
        if isinstance(field, forms.DateTimeField) and name not in MADE_BY_PHONES:
            moments += 1
            assert isinstance(field, MomentField), f"{form.__name__}.{name}"
    assert days >= 10 and moments >= 4, "the test finds the fields"


@pytest.mark.parametrize(
    ("field", "text"),
    [
        (DayField(), "{}-12-31"),
        (MomentField(), "{}-12-31T23:59"),
        (LocalMomentField(), "{}-12-31T23:59"),
    ],
)
def test_years_beyond_the_bounds_are_refused(field: forms.Field, text: str) -> None:
    for year in ("1970", "2199"):
        assert str(field.clean(text.format(year)).year) == year
    for year in ("0001", "1969", "2200", "9999"):
        with pytest.raises(forms.ValidationError, match=OUT_OF_REACH):
            field.clean(text.format(year))
    assert field.widget.attrs["min"].startswith("1970-01-01")
    assert field.widget.attrs["max"].startswith("2199-12-31")
