"""A field that chooses among the published fields and the band's own."""

from __future__ import annotations

from django import forms

from drill.field import queries
from drill.field.wording import field_label
from roster.people.models import Season


def field_choice(season: Season, like: forms.Field) -> forms.ChoiceField:
    """A choice of the published fields and the season's own, labelled as ``like``."""
    choices = [(name, field_label(name)) for name in queries.field_types(season)]
    return forms.ChoiceField(label=like.label, help_text=like.help_text, choices=choices)
