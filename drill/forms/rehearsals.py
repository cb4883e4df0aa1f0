"""Blocks, attendance notes, entries of the practice log."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.errors import Refused
from bandops.lib.web.forms import TimeInput
from drill.models import Event, RehearsalBlock, Show


class BlockForm(forms.ModelForm[RehearsalBlock]):
    class Meta:
        model = RehearsalBlock
        fields = ["starts", "ends", "what", "where", "show"]
        widgets = {"starts": TimeInput(), "ends": TimeInput()}
        labels = {"starts": "From", "ends": "To"}
        help_texts = {
            "what": "Such as: sectionals, visual fundamentals, halftime in full.",
            "where": "Empty for the rehearsal's own place.",
            "show": "The drill that is worked on; empty for none.",
        }

    def __init__(self, event: Event, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.event = event
        show = self.fields["show"]
        assert isinstance(show, forms.ModelChoiceField)
        show.queryset = Show.objects.filter(season=event.season_id)


class KeyedForm(forms.Form):
    """What every note carries: its own key, and when it was made if it had to wait."""

    key = forms.UUIDField()
    noted_at = forms.DateTimeField(required=False)

    def told(self) -> dict[str, Any]:
        """The cleaned fields; Refused when the page that sent them is not ours."""
        if not self.is_valid():
            raise Refused("That could not be read: open the page again.")
        return self.cleaned_data


class NoteForm(KeyedForm):
    member = forms.IntegerField(min_value=1, max_value=10**9)
    state = forms.CharField()
    settles = forms.BooleanField(required=False)


class RestForm(KeyedForm):
    rank = forms.IntegerField(min_value=1, max_value=10**9)


class PracticeForm(KeyedForm):
    """A member worked on a spot; what is missing or cannot be meant is said by name."""

    member = forms.IntegerField(min_value=1, max_value=10**9)
    spot = forms.IntegerField(min_value=1, max_value=10**9)
    show = forms.IntegerField(min_value=1, max_value=10**9)
    first_set = forms.IntegerField(required=False, min_value=1, max_value=10**9)
    last_set = forms.IntegerField(required=False, min_value=1, max_value=10**9)

    def told(self) -> dict[str, Any]:
        for name in ("member", "spot", "show"):
            if name in self.errors:
                raise Refused(f"Choose a {name}.")
        for name in ("first_set", "last_set"):
            if name in self.errors:
                raise Refused(f"“{self.data[name][:20]}” is no set: choose one of the list.")
        return super().told()
