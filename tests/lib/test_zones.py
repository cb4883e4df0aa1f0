"""Time zones: read as people type them, and the list to choose from."""

from __future__ import annotations

import pytest
from django import forms
from django.core.exceptions import ValidationError

from bandops.lib.zones import ZoneField, choices, read_zone


class OneZone(forms.Form):
    zone = ZoneField()


@pytest.mark.parametrize(
    "text",
    ["America/Los_Angeles", " america/los_angeles ", "AMERICA/LOS ANGELES"],
)
def test_a_name_is_read_in_any_case(text: str) -> None:
    assert read_zone(text) == "America/Los_Angeles"


@pytest.mark.parametrize(
    ("text", "near"),
    [
        ("Pacific", "America/Los_Angeles"),
        ("pacific time", "America/Los_Angeles"),
        ("Central", "America/Chicago"),
        ("PST", "America/Los_Angeles"),
        ("new york", "America/New_York"),
        ("Denver", "America/Denver"),
    ],
)
def test_a_word_for_a_zone_is_refused_with_the_name_that_is_meant(text: str, near: str) -> None:
    with pytest.raises(ValidationError) as error:
        read_zone(text)
    assert f"“{text}” is not a time zone. Did you mean {near}" in error.value.message


@pytest.mark.parametrize("text", ["Mars/Olympus", "../../etc/passwd", "America", "\0", "zone.tab"])
def test_what_is_no_zone_is_refused(text: str) -> None:
    with pytest.raises(ValidationError, match="is not a time zone"):
        read_zone(text)


def test_the_list_names_cities_and_letters_and_begins_with_the_nearest() -> None:
    known = {zone.name: zone.words for zone in choices()}
    assert len(known) > 300
    assert next(iter(known)) == "America/New_York"
    assert known["America/Los_Angeles"] == "Pacific, Los Angeles, PST/PDT"
    assert known["Asia/Tokyo"] == "Tokyo, JST"
    assert known["America/Sao_Paulo"] == "Sao Paulo, UTC-03"


def test_the_field_has_its_list_without_a_script() -> None:
    page = OneZone().as_p()
    assert 'list="id_zone_list"' in page and '<datalist id="id_zone_list">' in page
    assert '<option value="America/Chicago">Central, Chicago, CST/CDT</option>' in page
