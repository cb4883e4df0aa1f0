"""A chance is typed in percent or as a share of one."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django import forms

from bandops.lib.web.forms import ChanceField


class Asked(forms.Form):
    chance = ChanceField(min_value=0, max_value=1, decimal_places=2, required=False)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("30", "0.3"),
        ("30%", "0.3"),
        (" 30 % ", "0.3"),
        ("0.3", "0.3"),
        ("1%", "0.01"),
        ("1", "1"),
        ("100%", "1"),
        ("0", "0"),
        ("0%", "0"),
    ],
)
def test_what_is_typed_is_kept_as_a_share(typed: str, kept: str) -> None:
    form = Asked({"chance": typed})
    assert form.is_valid() and form.cleaned_data["chance"] == Decimal(kept)


@pytest.mark.parametrize("typed", ["101", "101%", "-5%", "half", "3 0", "nan", "%%", "12.345%"])
def test_what_is_no_chance_is_refused(typed: str) -> None:
    assert not Asked({"chance": typed}).is_valid()


def test_nothing_stays_nothing() -> None:
    for typed in ("", " ", "%"):
        form = Asked({"chance": typed})
        assert form.is_valid() and form.cleaned_data["chance"] is None


@pytest.mark.parametrize(("kept", "shown"), [("0.3", "30%"), ("0.05", "5%"), ("1", "100%")])
def test_it_is_shown_in_percent_and_unchanged_as_shown(kept: str, shown: str) -> None:
    form = Asked(initial={"chance": Decimal(kept)})
    assert f'value="{shown}"' in str(form["chance"])
    assert not Asked({"chance": shown}, initial={"chance": Decimal(kept)}).has_changed()
