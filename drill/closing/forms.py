"""Which line is closed up in which sets; which sets are cut."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from django import forms

MOST_DOTS = 60


class CloseUpForm(forms.Form):
    """The line in order, and the sets in which it is re-spaced."""

    line = forms.CharField(
        label="Line, dot by dot",
        max_length=1000,
        help_text="The dots in the line, in order, with commas. Starts with the rank's.",
    )
    sets = forms.MultipleChoiceField(
        label="Sets to close it up in",
        widget=forms.CheckboxSelectMultiple,
        help_text="Starts with the sets where the dots are in a line.",
    )

    def __init__(self, labels: Sequence[str], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["sets"]
        assert isinstance(field, forms.MultipleChoiceField)
        field.choices = [(label, f"set {label}") for label in labels]

    def clean_line(self) -> list[str]:
        """Dot labels."""
        names = [name.strip() for name in self.cleaned_data["line"].split(",")]
        found = [name for name in names if name]
        if len(found) > MOST_DOTS:
            raise forms.ValidationError(f"A line has {MOST_DOTS} dots at most.")
        return found


class CutForm(forms.Form):
    """The first and the last set that fall away, and the counts of the jump."""

    first = forms.ChoiceField(label="Cut from set")
    last = forms.ChoiceField(label="through set")
    counts = forms.IntegerField(
        label="Counts to the next set",
        min_value=1,
        max_value=400,
        help_text="Straight from the last set kept to the next one kept.",
    )

    def __init__(self, labels: Iterable[str], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        inner = [(label, label) for label in list(labels)[1:-1]]
        for name in ("first", "last"):
            field = self.fields[name]
            assert isinstance(field, forms.ChoiceField)
            field.choices = inner
