"""Seating: how much wishes count, who is kept apart, who goes where by hand."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.web.forms import DayField
from roster.ranks.fields import SpotField
from roster.ranks.models import Spot
from roster.tryouts.models import Candidate, SeatingPlan, Tryout
from roster.tryouts.services.seating import WISHES, Ground


class SeatingForm(forms.ModelForm[SeatingPlan]):
    """How much each wish counts, 0 to 20."""

    class Meta:
        model = SeatingPlan
        fields = list(WISHES)
        help_texts = {
            "balance": "For each percent of figure that a rank is off.",
            "company": "For two new people side by side.",
            "home": "For each step from their old spot: another spot 1, another rank 3.",
            "height": "For each 5 cm between neighbors whose heights are known.",
            "experience": "For somebody new on a spot that needs experience.",
        }


class ApartForm(forms.Form):
    """Two who are not seated in one rank."""

    one = forms.ModelChoiceField(Candidate.objects.none())
    other = forms.ModelChoiceField(Candidate.objects.none(), label="and")

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("one", "other"):
            field = self.fields[name]
            assert isinstance(field, forms.ModelChoiceField)
            field.queryset = Candidate.objects.filter(
                tryout=tryout, withdrawn_at=None
            ).select_related("person")


class MoveSeatForm(forms.Form):
    """A spot of the candidate's part."""

    spot = SpotField(Spot.objects.none(), label="To")

    def __init__(self, ground: Ground, candidate: Candidate, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offer = ground.by_candidate.get(candidate.pk)
        keys = [s.pk for s in ground.spots if offer is not None and s.part_id == offer.part_id]
        spot = self.fields["spot"]
        assert isinstance(spot, SpotField)
        spot.queryset = Spot.objects.filter(pk__in=keys).select_related("rank", "part")


class JoinForm(forms.Form):
    """From which day they hold their spots."""

    on = DayField(label="They hold their spots from")
