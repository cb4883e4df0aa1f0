"""Making a token."""

from __future__ import annotations

from django import forms

from bandops.lib.api.tokens import LONGEST_DAYS, SCOPES


class TokenForm(forms.Form):
    """What a program may do with it, and for how long."""

    name = forms.CharField(label="What for", max_length=60)
    scopes = forms.MultipleChoiceField(
        label="It may", choices=list(SCOPES.items()), widget=forms.CheckboxSelectMultiple
    )
    days = forms.IntegerField(label="For how many days", min_value=1, max_value=LONGEST_DAYS)
