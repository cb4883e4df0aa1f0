"""Decisions: making one, changing an offer, what-if, posting, answers."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.web.forms import LocalMomentField
from bandops.lib.web.readings import AsksReadings
from roster.people import queries as people_queries
from roster.people.models import Part
from roster.tryouts.core.selection import Quota
from roster.tryouts.enums import OfferKind
from roster.tryouts.models import Offer, Tryout, TryoutQuota
from roster.tryouts.models.tryouts import MOST_SPOTS


class DecisionForm(AsksReadings, forms.Form):
    """A version by the rules."""

    reason = forms.CharField(
        max_length=300,
        required=False,
        help_text="How those too close to call were settled; for a later version, why it changes.",
    )
    expires_at = LocalMomentField(
        label="Offers stand until",
        required=False,
        help_text="Whoever has not accepted by then gives the place up. Left empty, new offers "
        "end with those of the version before.",
    )

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = tryout.zone

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("expires_at") is not None:
            data["expires_at"] = self.reading("expires_at", data["expires_at"], self.zone)
        return data


class OfferForm(forms.Form):
    """Another offer than the rules say."""

    kind = forms.ChoiceField(label="Offer", choices=OfferKind.choices)
    part = forms.ModelChoiceField(Part.objects.none(), required=False)
    reason = forms.CharField(
        max_length=300, help_text="It stays with the offer, and the candidate may read it."
    )

    def __init__(self, offer: Offer, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {"kind": offer.kind, "part": offer.part_id}
        super().__init__(*args, **kwargs)
        part = self.fields["part"]
        assert isinstance(part, forms.ModelChoiceField)
        tryout = offer.decision.tryout
        part.queryset = people_queries.parts(tryout.season).filter(tryout_quotas__tryout=tryout)


class WhatIfForm(forms.Form):
    """Other numbers of spots, to see what they would change; nothing is saved."""

    def __init__(self, quotas: list[TryoutQuota], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.quotas = quotas
        for quota in quotas:
            self.fields[f"q{quota.part_id}"] = forms.IntegerField(
                label=str(quota.part),
                min_value=0,
                max_value=MOST_SPOTS,
                required=False,
                initial=quota.target,
                widget=forms.NumberInput(attrs={"class": "short", "inputmode": "numeric"}),
            )

    def asked(self) -> list[Quota]:
        """The quotas with the numbers typed; minimums and maximums give way."""
        found = []
        for quota in self.quotas:
            typed = self.cleaned_data.get(f"q{quota.part_id}")
            target = quota.target if typed is None else typed
            low, high = min(quota.minimum, target), max(quota.maximum, target)
            found.append(Quota(quota.part_id, low, target, high, quota.alternates))
        return found


class PostingForm(AsksReadings, forms.Form):
    """When results are told and posted."""

    notes_at = LocalMomentField(label="Private notes from")
    posts_at = LocalMomentField(label="Public list from", help_text="Not a minute earlier.")

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        self.zone = tryout.zone
        moments = {"notes_at": tryout.notes_at, "posts_at": tryout.posts_at}
        kwargs["initial"] = {
            name: at.astimezone(self.zone).replace(tzinfo=None)
            for name, at in moments.items()
            if at is not None
        }
        super().__init__(*args, **kwargs)
        for name, at in moments.items():
            if at is not None:
                self.offer(name, at, self.zone)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in ("notes_at", "posts_at"):
            if data.get(name) is not None:
                data[name] = self.reading(name, data[name], self.zone)
        return data
