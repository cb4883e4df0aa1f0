"""Ranks, spots, and a member's place among them."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from bandops.lib.web.forms import DayField, only_for
from roster.people import queries as people_queries
from roster.people.fields import MemberField
from roster.people.models import Member, Part, Season
from roster.ranks import queries
from roster.ranks.models import Rank, Spot


class RankForm(forms.ModelForm[Rank]):
    class Meta:
        model = Rank
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is already a rank with that label."}
        }
        fields = ["label", "order", "leader", "assistant_leader"]

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season
        members = people_queries.active_members(season)
        if self.instance.pk:
            members = members.filter(
                holdings__ends__isnull=True, holdings__spot__rank=self.instance
            )
        for name in ("leader", "assistant_leader"):
            field = self.fields[name]
            assert isinstance(field, forms.ModelChoiceField)
            field.queryset = members if self.instance.pk else Member.objects.none()
            field.help_text = "One of the rank's holders."


class SpotForm(forms.ModelForm[Spot]):
    class Meta:
        model = Spot
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "The rank already has a spot with that number."}
        }
        fields = ["number", "own_label", "part", "weight", "needs_experience"]
        help_texts = {"weight": "1 to 5; counts only if the season fills heavier spots first."}

    def __init__(self, rank: Rank, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.rank = rank
        part = self.fields["part"]
        assert isinstance(part, forms.ModelChoiceField)
        part.queryset = people_queries.parts(rank.season)


class PlaceForm(forms.Form):
    """Where a member belongs."""

    KINDS = [
        ("hold", "holds the spot"),
        ("swap", "swaps spots with"),
        ("alternate", "is an alternate of the rank"),
        ("none", "has no place"),
    ]
    kind = forms.ChoiceField(
        choices=KINDS, label="From that day the member", widget=forms.RadioSelect
    )
    spot = forms.ModelChoiceField(
        Spot.objects.none(), required=False, widget=forms.Select(attrs=only_for("hold"))
    )
    other = MemberField(
        Member.objects.none(),
        label="Other holder",
        required=False,
        widget=forms.Select(attrs=only_for("swap")),
    )
    rank = forms.ModelChoiceField(
        Rank.objects.none(), required=False, widget=forms.Select(attrs=only_for("alternate"))
    )
    part = forms.ModelChoiceField(
        Part.objects.none(), required=False, widget=forms.Select(attrs=only_for("alternate"))
    )
    on = DayField(
        label="First day",
    )

    NEEDS = {"hold": ("spot",), "swap": ("other",), "alternate": ("rank", "part"), "none": ()}

    def __init__(self, member: Member, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        season = member.season
        self.fields["on"].initial = season.today()
        holders = people_queries.members(season).filter(
            holdings__ends__isnull=True, holdings__isnull=False
        )
        choices: dict[str, Any] = {
            "spot": queries.spots(season),
            "other": holders.exclude(pk=member.pk),
            "rank": queries.ranks(season),
            "part": people_queries.parts(season).filter(qualifications__member=member),
        }
        for name, queryset in choices.items():
            field = self.fields[name]
            assert isinstance(field, forms.ModelChoiceField)
            field.queryset = queryset

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in self.NEEDS.get(data.get("kind", ""), ()):
            if not data.get(name):
                self.add_error(name, "Choose one.")
        return data
