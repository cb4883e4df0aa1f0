"""A mark, and a number to be marked out of turn."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.web.forms import KeyedForm
from roster.tryouts.models import Candidate, RetiredNumber, Tryout, TryoutSession


class MarkForm(KeyedForm):
    """What was tapped or typed for one criterion."""

    criterion = forms.IntegerField(min_value=1, max_value=10**9)
    value = forms.CharField(max_length=12)


class OtherForm(forms.Form):
    """A candidate out of turn, by number."""

    session = forms.ModelChoiceField(TryoutSession.objects.none())
    number = forms.IntegerField(
        label="Number", widget=forms.NumberInput(attrs={"inputmode": "numeric", "class": "short"})
    )

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.tryout = tryout
        session = self.fields["session"]
        assert isinstance(session, forms.ModelChoiceField)
        session.queryset = TryoutSession.objects.filter(tryout=tryout)

    def clean_number(self) -> Candidate:
        """The candidate; one who has another number now is found by the old one, too."""
        number = self.cleaned_data["number"]
        found = Candidate.objects.filter(tryout=self.tryout, number=number).first()
        if found is None:
            old = RetiredNumber.objects.filter(tryout=self.tryout, number=number).first()
            if old is None:
                raise forms.ValidationError(f"Nobody has the number {number}.")
            found = old.candidate
        return found
