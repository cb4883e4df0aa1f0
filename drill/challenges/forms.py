"""Challenges: rounds, what is marked, protected spots, sign-up, an evaluator's marks."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS
from django.db.models import QuerySet

from bandops.lib.dates import weekday_words
from bandops.lib.web.forms import DayField, LocalMomentField
from bandops.lib.web.readings import AsksReadings
from drill.challenges.enums import Side
from drill.challenges.models import ChallengeCriterion, ChallengeRound, ChallengeRule
from drill.events import queries as event_queries
from drill.events.enums import EventKind
from drill.events.models import Event
from roster.people.fields import MemberField
from roster.people.models import Member, Season
from roster.ranks import queries as rank_queries
from roster.ranks.fields import SpotField
from roster.ranks.models import Spot

MOMENTS = ("opens_at", "closes_at", "held_at")


class RoundForm(AsksReadings, forms.ModelForm[ChallengeRound]):
    """Times are of the season's zone."""

    class Meta:
        model = ChallengeRound
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is already a round by that name."}
        }
        fields = ["name", *MOMENTS, "effective"]
        field_classes = dict.fromkeys(MOMENTS, LocalMomentField)
        labels = {
            "opens_at": "Sign-up opens",
            "closes_at": "Sign-up closes",
            "held_at": "Held",
            "effective": "A win counts from",
        }
        help_texts = {
            "closes_at": "Anybody who asks later waits for the next round.",
            "effective": "The winner holds the spot from this event on.",
            "held_at": "Nobody can challenge a holder who can't be there that day.",
        }

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        self.zone = season.zone
        instance = kwargs.get("instance")
        if instance is not None and instance.pk:
            moments = {n: getattr(instance, n).astimezone(self.zone) for n in MOMENTS}
            kwargs["initial"] = {n: m.replace(tzinfo=None) for n, m in moments.items()}
        super().__init__(*args, **kwargs)
        if instance is not None and instance.pk:
            for name in MOMENTS:
                self.offer(name, getattr(instance, name), self.zone)
        self.instance.season = season
        field = self.fields["effective"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = event_queries.events(season).exclude(kind=EventKind.REHEARSAL)
        field.label_from_instance = _dated  # type: ignore[method-assign, assignment]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in MOMENTS:
            if data.get(name) is not None:
                data[name] = self.reading(name, data[name], self.zone)
        return data


def _dated(event: Event) -> str:
    return f"{weekday_words(event.date)}, {event}"


class RuleForm(forms.ModelForm[ChallengeRule]):
    class Meta:
        model = ChallengeRule
        fields = ["who", "reach"]
        labels = {"reach": "For spots of a part they play"}
        help_texts = {
            "who": "A holder who wins swaps spots with the one they beat.",
            "reach": "A section is one instrument, such as all trumpets.",
        }


class CriterionForm(forms.ModelForm[ChallengeCriterion]):
    class Meta:
        model = ChallengeCriterion
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "There is already a criterion by that name."}
        }
        fields = ["name", "top", "weight", "order"]
        help_texts = {
            "top": "Marks go from 0 to this; they are turned into percent.",
            "weight": "2 counts twice as much as 1.",
        }

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season


class ProtectForm(forms.Form):
    spot = SpotField(Spot.objects.none())
    until = DayField(
        label="Through",
        required=False,
        help_text="Empty: until you lift it. Members see “protected” and never why.",
    )

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        spot = self.fields["spot"]
        assert isinstance(spot, SpotField)
        spot.queryset = rank_queries.spots(season)


class SignUpForm(forms.Form):
    """Staff sign somebody up whom the season's rule allows, for a spot that it allows them; the
    director also after the closing time. Without ``spots`` only the member is asked."""

    member = MemberField(Member.objects.none(), label="Challenger")
    spot = SpotField(Spot.objects.none())
    late = forms.BooleanField(label="Even though sign-up is closed", required=False)

    def __init__(
        self,
        challengers: QuerySet[Member],
        spots: Collection[int] | None,
        may_be_late: bool,
        *args: Any,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        member, spot = self.fields["member"], self.fields["spot"]
        assert isinstance(member, MemberField) and isinstance(spot, SpotField)
        member.queryset = challengers
        if spots is None:
            del self.fields["spot"]
        else:
            spot.queryset = Spot.objects.filter(pk__in=spots).select_related("rank", "part")
        if not may_be_late or spots is None:
            del self.fields["late"]


class MarksForm(forms.Form):
    """One challenge's marks for sides A and B; what is empty is not marked yet."""

    def __init__(
        self,
        criteria: Iterable[ChallengeCriterion],
        marks: Mapping[tuple[int, str], Decimal],
        *args: Any,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.criteria = list(criteria)
        for criterion in self.criteria:
            for side in Side.values:
                self.fields[f"m{criterion.pk}{side}"] = forms.DecimalField(
                    label=f"{criterion}, side {side}",
                    min_value=0,
                    max_value=criterion.top,
                    max_digits=6,
                    decimal_places=2,
                    required=False,
                    initial=_plain(marks.get((criterion.pk, side))),
                    widget=forms.NumberInput(attrs={"inputmode": "decimal", "class": "short"}),
                )

    def rows(self) -> list[tuple[ChallengeCriterion, list[tuple[str, forms.BoundField]]]]:
        """Each criterion with its two fields, for the page."""
        return [(c, [(s, self[f"m{c.pk}{s}"]) for s in Side.values]) for c in self.criteria]

    def given(self) -> dict[tuple[int, str], Decimal | None]:
        """What was entered, by criterion and side."""
        return {
            (c.pk, side): self.cleaned_data[f"m{c.pk}{side}"]
            for c in self.criteria
            for side in Side.values
        }


def _plain(value: Decimal | None) -> str:
    """8.50 as it was typed: 8.5."""
    if value is None:
        return ""
    return f"{value.normalize():f}"
