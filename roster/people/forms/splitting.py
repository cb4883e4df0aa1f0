"""Which of the new parts each member and each open place gets."""

from __future__ import annotations

from typing import Any

from django import forms

from roster.people.services.splitting import Player
from roster.people.ties import Place

STAYS = [("", "decide later")]


class SplitForm(forms.Form):
    """One list a member or place; what is left empty keeps the part."""

    def __init__(
        self, names: list[str], players: list[Player], places: list[Place], *args: Any, **more: Any
    ) -> None:
        super().__init__(*args, **more)
        choices = STAYS + [(name, name) for name in names]
        for player in players:
            where = ", ".join(place.label for place in player.places)
            doubles = "" if player.main else ", doubles"
            label = f"{player.member}{f' ({where})' if where else ''}{doubles}"
            self.fields[f"member-{player.member.pk}"] = _field(label, choices)
        for place in places:
            self.fields[f"place-{place.key}"] = _field(f"Open {place.label}", choices)

    def of_member(self) -> dict[int, str]:
        """Member -> the name of their part."""
        return {int(key): name for key, name in self._chosen("member-").items()}

    def of_place(self) -> dict[str, str]:
        """Key of a place -> the name of its part."""
        return self._chosen("place-")

    def _chosen(self, start: str) -> dict[str, str]:
        values = self.cleaned_data.items()
        return {k.removeprefix(start): v for k, v in values if k.startswith(start) and v}


def _field(label: str, choices: list[tuple[str, str]]) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices, required=False)
