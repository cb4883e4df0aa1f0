"""Ranks, spots, instruments and parts."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from roster import queries
from roster.models import Instrument, Member, Part, Rank, Season, Spot


class RankForm(forms.ModelForm[Rank]):
    class Meta:
        model = Rank
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is a rank of that label already."}
        }
        fields = ["label", "order", "leader", "second"]

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season
        members = queries.active_members(season)
        if self.instance.pk:
            members = members.filter(
                holdings__ends__isnull=True, holdings__spot__rank=self.instance
            )
        for name in ("leader", "second"):
            field = self.fields[name]
            assert isinstance(field, forms.ModelChoiceField)
            field.queryset = members if self.instance.pk else Member.objects.none()
            field.help_text = "One of the rank's holders."


class SpotForm(forms.ModelForm[Spot]):
    class Meta:
        model = Spot
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "The rank has a spot of that number already."}
        }
        fields = ["number", "part", "weight", "needs_experience"]
        help_texts = {"weight": "1 to 5; counts only if the season fills heavier spots first."}

    def __init__(self, rank: Rank, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.rank = rank
        part = self.fields["part"]
        assert isinstance(part, forms.ModelChoiceField)
        part.queryset = queries.parts(rank.season)


class InstrumentForm(forms.ModelForm[Instrument]):
    class Meta:
        model = Instrument
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is an instrument of that name already."}
        }
        fields = ["name", "school_stock", "order"]
        help_texts = {
            "school_stock": "How many are ready to hand out; empty when players bring their own."
        }


class PartForm(forms.ModelForm[Part]):
    class Meta:
        model = Part
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is a part of that code already."}
        }
        fields = ["instrument", "name", "code", "order"]
        help_texts = {"code": "Its short name in files, such as trumpet-2."}

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season
        field = self.fields["instrument"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = queries.instruments(season)
