"""Versions, sets and dots of a show."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.names import clean_name
from drill.shows.models import Dot, DrillSet, Show, ShowVersion


class VersionForm(forms.Form):
    """A new version, as a copy of one or empty."""

    label = forms.CharField(max_length=60, help_text="Such as October, or rain.")
    copy_of = forms.ModelChoiceField(
        ShowVersion.objects.none(), label="Begin with", required=False, empty_label="no sets"
    )

    def __init__(self, show: Show, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.show = show
        field = self.fields["copy_of"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = show.versions.order_by("-order")
        field.label_from_instance = _copy_of  # type: ignore[method-assign, assignment]

    def clean_label(self) -> str:
        label = clean_name(self.cleaned_data["label"])
        if self.show.versions.filter(label=label).exists():
            raise forms.ValidationError(f"There is already a version {label}.")
        return label


def _copy_of(version: Any) -> str:
    return f"a copy of version {version.label}"


class SetForm(forms.ModelForm[DrillSet]):
    """A set; a new one says behind which other it comes."""

    after = forms.ModelChoiceField(
        DrillSet.objects.none(), label="Comes after", required=False, empty_label="nothing: first"
    )

    class Meta:
        model = DrillSet
        fields = ["label", "counts", "tempo", "is_subset"]
        labels = {"is_subset": "It is a subset"}
        help_texts = {
            "counts": "From the set before to this one.",
            "tempo": "Beats per minute on the way to it.",
        }

    def __init__(self, version: ShowVersion, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.version = version
        if self.instance.pk:
            del self.fields["after"]
            return
        field = self.fields["after"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = version.sets.order_by("order")

    def clean_label(self) -> str:
        label = clean_name(self.cleaned_data["label"])
        others = self.instance.version.sets.exclude(pk=self.instance.pk)
        if others.filter(label=label).exists():
            raise forms.ValidationError(f"There is already a set {label}.")
        return label


class DotForm(forms.Form):
    """A dot's label."""

    label = forms.CharField(max_length=30)

    def __init__(self, dot: Dot, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.dot = dot

    def clean_label(self) -> str:
        label = clean_name(self.cleaned_data["label"])
        others = Dot.objects.filter(show=self.dot.show).exclude(pk=self.dot.pk)
        if others.filter(label=label).exists():
            raise forms.ValidationError(f"There is already a dot {label}.")
        return label
