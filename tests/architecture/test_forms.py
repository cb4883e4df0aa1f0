"""What all forms keep to."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django import forms
from django.urls import get_resolver

from bandops.lib.dates import OUT_OF_REACH
from bandops.lib.web.forms import DayField, LocalMomentField, MomentField

MADE_BY_PHONES = {"noted_at", "sent_at"}
"""when a note was made, by a clock that may be wrong: such notes are taken as made now"""


def form_classes(above: type[forms.BaseForm] = forms.BaseForm) -> Iterator[type[forms.BaseForm]]:
    """Every form that the site's pages have brought in."""
    for form in above.__subclasses__():
        yield form
        yield from form_classes(form)


def field_classes() -> Iterator[tuple[type[forms.BaseForm], str, forms.Field]]:
    """Every field that a form of the roster or the drill declares."""
    assert get_resolver().url_patterns, "reading them imports every view and its forms"
    for form in form_classes():
        if form.__module__.split(".")[0] in ("roster", "drill"):
            for name, field in getattr(form, "base_fields", {}).items():
                yield form, name, field


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
