"""Blocks, attendance notes, entries of the practice log."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.web.forms import KeyedForm, TimeInput
from drill.events.models import Event
from drill.rehearsals.models import RehearsalBlock
from drill.shows.models import Show


class BlockForm(forms.ModelForm[RehearsalBlock]):
    class Meta:
        model = RehearsalBlock
        fields = ["starts", "ends", "what", "where", "show"]
        widgets = {"starts": TimeInput(), "ends": TimeInput()}
        labels = {"starts": "From", "ends": "To"}
        help_texts = {
            "what": "Such as: sectionals, visual fundamentals, halftime in full.",
            "where": "Empty: the rehearsal's own place.",
            "show": "The drill you work on; empty for none.",
        }

    def __init__(self, event: Event, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.event = event
        show = self.fields["show"]
        assert isinstance(show, forms.ModelChoiceField)
        show.queryset = Show.objects.filter(season=event.season_id)


class NoteForm(KeyedForm):
    member = forms.IntegerField(min_value=1, max_value=10**9)
    state = forms.CharField()
    settles = forms.BooleanField(required=False)


class RestForm(KeyedForm):
    rank = forms.IntegerField(min_value=1, max_value=10**9)
