"""What is worn, kind by kind."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.names import plain
from drill.outfits.models import Worn
from roster.equipment.enums import Use
from roster.equipment.models import Kind
from roster.people import queries as people_queries
from roster.people.models import Instrument, Season


class WornForm(forms.Form):
    """A box a kind, and whose players wear it; ``text`` is the uniform in words, whose kinds are
    checked where nothing is set yet."""

    def __init__(self, season: Season, now: list[Worn], text: str, *args: Any) -> None:
        super().__init__(*args)
        self.kinds = list(Kind.objects.exclude(use__in=(Use.INSTRUMENT, Use.LOCKER)))
        instruments = people_queries.instruments(season)
        set_now = {w.kind_id: w for w in now}
        said = f" {plain(text)} "
        for kind in self.kinds:
            row = set_now.get(kind.pk)
            named = not now and f" {kind.name_key} " in said
            self.fields[f"kind_{kind.pk}"] = forms.BooleanField(
                label=kind.name, required=False, initial=row is not None or named
            )
            self.fields[f"by_{kind.pk}"] = forms.ModelMultipleChoiceField(
                label=f"{kind.name}: worn by",
                queryset=instruments,
                required=False,
                widget=forms.CheckboxSelectMultiple,
                initial=list(row.instruments.all()) if row is not None else [],
                help_text="Check none if everybody wears it.",
            )

    def pairs(self) -> list[tuple[Any, Any]]:
        """The box of each kind beside its instruments."""
        return [(self[f"kind_{k.pk}"], self[f"by_{k.pk}"]) for k in self.kinds]

    def chosen(self) -> dict[Kind, list[Instrument]]:
        """Kind -> whose players wear it."""
        data = self.cleaned_data
        return {k: list(data[f"by_{k.pk}"]) for k in self.kinds if data[f"kind_{k.pk}"]}
