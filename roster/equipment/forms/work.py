"""Work on items: tickets, what goes out together, counting it back, inspections."""

from __future__ import annotations

import datetime
import re
from typing import Any

from django import forms

from bandops.lib.web.forms import DayField
from roster.equipment.enums import Work
from roster.equipment.forms.fields import ConditionField, DollarsField
from roster.equipment.models import Inspection, Kind
from roster.people.models import Season


class TicketForm(forms.Form):
    """Work on an item."""

    work = forms.ChoiceField(choices=Work.choices)
    what = forms.CharField(label="What is to be done", max_length=200, required=False)
    due = DayField(label="Back by", required=False)


class CloseTicketForm(forms.Form):
    """The work is done."""

    condition = ConditionField(as_it_was=True)
    cents = DollarsField(label="What it cost, in dollars", required=False)


class RunForm(forms.Form):
    """What goes out together."""

    work = forms.ChoiceField(choices=Work.choices, initial=Work.CLEANING)
    place = forms.CharField(label="Where to", max_length=80)
    due = DayField(label="Back by", required=False)
    whose = forms.ChoiceField(
        label="Of the kinds below",
        choices=[
            ("store", "only what is in store"),
            ("all", "what is in store and what members have"),
        ],
        initial="store",
    )
    kinds = forms.ModelMultipleChoiceField(
        queryset=Kind.objects.all(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Everything of",
    )
    tags = forms.CharField(
        label="And these tags",
        required=False,
        max_length=20_000,
        widget=forms.Textarea({"rows": 4}),
        help_text="One a line, or separated by commas.",
    )


class CountForm(forms.Form):
    """Tags that came back."""

    tags = forms.CharField(
        label="Tags that came back",
        max_length=20_000,
        widget=forms.Textarea({"rows": 6}),
        help_text="Scan or type them one a line, or separated by commas.",
    )
    all = forms.BooleanField(label="All of them came back", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tags"].required = False


def tags_in(text: str) -> list[str]:
    """Tags of a list as people write them."""
    return [part.strip() for part in re.split(r"[,;\s]+", text) if part.strip()]


class InspectionForm(forms.ModelForm[Inspection]):
    class Meta:
        model = Inspection
        fields = ["date", "name"]
        field_classes = {"date": DayField}

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season


def default_due(day: datetime.date | None) -> dict[str, Any]:
    """A form's start with a day to be back by."""
    return {} if day is None else {"due": day}
