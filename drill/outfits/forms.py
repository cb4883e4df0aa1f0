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

FEW = 4


class WornForm(forms.Form):
    """A box a kind, and whose players wear it; ``text`` is the uniform in words, whose kinds are
    checked where nothing is set yet."""

    def __init__(self, season: Season, now: list[Worn], text: str, *args: Any) -> None:
        super().__init__(*args)
        self.kinds = list(Kind.objects.filter(use__in=(Use.UNIFORM, Use.GUARD)))
        instruments = people_queries.instruments(season)
        self.instruments = list(instruments)
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

    def rows(self) -> list[tuple[Any, Any, str]]:
        """The box of each kind, its instruments, and those in words."""
        return [
            (self[f"kind_{k.pk}"], by := self[f"by_{k.pk}"], self._words(by.initial or []))
            for k in self.kinds
        ]

    def _words(self, chosen: list[Instrument]) -> str:
        """'everybody', 'flags', 'all but flags', '9 instruments'."""
        every = {i.pk: i.name for i in self.instruments}
        left = [name for pk, name in every.items() if pk not in {i.pk for i in chosen}]
        if not chosen or not left:
            return "everybody"
        if len(left) <= FEW:
            return f"all but {', '.join(left).lower()}"
        if len(chosen) <= FEW:
            return ", ".join(i.name for i in chosen).lower()
        return f"{len(chosen)} instruments"

    def chosen(self) -> dict[Kind, list[Instrument]]:
        """Kind -> whose players wear it."""
        data = self.cleaned_data
        return {k: list(data[f"by_{k.pk}"]) for k in self.kinds if data[f"kind_{k.pk}"]}
