"""The form that takes a file."""

from __future__ import annotations

from django import forms


class UploadForm(forms.Form):
    file = forms.FileField(
        label="File",
        help_text="CSV or XLSX, any column order; the first row names the columns.",
        widget=forms.ClearableFileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )
