"""The marching record: what staff chose on the sheet, and correcting a line."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.http import QueryDict

from bandops.lib.web import forms as lib_forms
from drill.record.core.record import Outcome
from drill.record.enums import RecordOutcome
from drill.record.models import LetterRule, RecordEntry
from drill.record.services.record_sheet import Cell, Choice
from roster.people.models import Season
from roster.ranks import queries as rank_queries
from roster.ranks.fields import SpotField
from roster.ranks.models import Spot

CELL = re.compile(r"t-([0-9]{1,9})-([0-9]{1,9})")


def chosen(data: QueryDict, season: Season) -> dict[Cell, Choice]:
    """What a sheet's form says, cell by cell; what makes no sense is left out."""
    spots = set(Spot.objects.filter(rank__season=season).values_list("pk", flat=True))
    found = {}
    for name in data:
        cell, choice = CELL.fullmatch(name), _choice(data.get(name, ""), spots)
        if cell and choice:
            found[int(cell[1]), int(cell[2])] = choice
    return found


def _choice(value: str, spots: set[int]) -> Choice | None:
    name, _, number = value.partition(":")
    if name not in set(Outcome):
        return None
    if name != Outcome.MARCHED:
        return Choice(Outcome(name))
    spot = lib_forms.whole_number(number)
    return Choice(Outcome.MARCHED, spot) if spot in spots else None


class CorrectionForm(forms.Form):
    """What really happened, and why the record is changed."""

    outcome = forms.ChoiceField(label="What they did", choices=RecordOutcome.choices)
    spot = SpotField(Spot.objects.none(), required=False, help_text="Only for marched or placed.")
    note = forms.CharField(
        label="Why it is corrected",
        max_length=200,
        help_text="The member reads it. Never write a diagnosis anywhere.",
    )

    def __init__(self, entry: RecordEntry, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {"outcome": entry.outcome, "spot": entry.spot_id}
        super().__init__(*args, **kwargs)
        spot = self.fields["spot"]
        assert isinstance(spot, SpotField)
        spot.queryset = rank_queries.spots(entry.member.season)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("outcome") == RecordOutcome.MARCHED and data.get("spot") is None:
            self.add_error("spot", "Which spot did they march?")
        return data


class LetterForm(forms.ModelForm[LetterRule]):
    """What a letter takes."""

    class Meta:
        model = LetterRule
        fields = ["marched", "stood_by", "needed"]
