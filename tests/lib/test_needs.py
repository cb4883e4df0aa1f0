"""What a form cannot do without: the server and the page's script ask for the same."""

from __future__ import annotations

import json

from django import forms

from bandops.lib.web.needs import Need, NeedyForm


class Away(NeedyForm):
    needs = (
        Need("event", "Choose an event.", instead=("day",)),
        Need("time", "Which time?", when=("kind", "late")),
    )
    kind = forms.CharField()
    event = forms.CharField(required=False)
    day = forms.CharField(required=False)
    time = forms.TimeField(required=False)


def test_a_field_is_needed_where_it_is_asked_for() -> None:
    assert Away({"kind": "out", "event": "1"}).is_valid()
    assert Away({"kind": "out", "day": "1"}).is_valid()
    assert Away({"kind": "late", "day": "1", "time": "10:00"}).is_valid()
    lacking = Away({"kind": "late"})
    assert lacking.errors == {"event": ["Choose an event."], "time": ["Which time?"]}


def test_a_field_that_cannot_be_read_is_not_asked_for_again() -> None:
    assert Away({"kind": "late", "day": "1", "time": "x"}).errors == {
        "time": ["Enter a valid time."]
    }


def test_the_page_is_told_the_same() -> None:
    told = json.loads(Away().needs_told)
    assert told[1] == {
        "field": "time",
        "says": "Which time?",
        "when": ["kind", "late"],
        "instead": [],
    }
