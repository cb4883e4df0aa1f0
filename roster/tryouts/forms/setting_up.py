"""A tryout's rules, sessions, criteria, quotas and readiness items."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from bandops.lib.ties import merged
from bandops.lib.web.forms import ChanceField, LocalMomentField, only_for
from bandops.lib.web.readings import AsksReadings
from roster.people import queries as people_queries
from roster.people.models import Part, Season
from roster.tryouts import queries
from roster.tryouts.enums import CriterionKind
from roster.tryouts.models import (
    ReadinessItem,
    Tryout,
    TryoutCriterion,
    TryoutQuota,
    TryoutSession,
)
from roster.tryouts.models.tryouts import MOST_SPOTS
from roster.tryouts.services.setting_up import Wanted
from roster.tryouts.ties import FUNDAMENTALS


def once(what: str) -> dict[str, dict[str, str]]:
    """The error of a name that is there already."""
    return {NON_FIELD_ERRORS: {"unique_together": f"There is already a {what} by that name."}}


class TryoutForm(forms.ModelForm[Tryout]):
    """The rules; what an earlier tryout decided can be taken over in one choice."""

    class Meta:
        model = Tryout
        error_messages = once("tryout")
        fields = [
            "name",
            "deciding",
            "drop_extremes",
            "sessions_differ",
            "looks_wanted",
            "minimum_looks",
            "standard",
            "sure",
        ]
        field_classes = {"sure": ChanceField}
        labels = {
            "deciding": "Which figure decides",
            "looks_wanted": "Looks for each candidate",
            "minimum_looks": "Fewest looks for an offer",
            "standard": "Lowest figure for an offer, in percent",
            "sure": "Sure from",
        }
        help_texts = {
            "deciding": "Both figures are always shown side by side.",
            "drop_extremes": "Of raw figures only, for candidates with at least 4 looks.",
            "sessions_differ": "Needs candidates who are seen in two sessions; else figures of "
            "different sessions cannot be compared.",
            "looks_wanted": "One look is one evaluator's marks for one candidate in one session.",
            "standard": "Nobody below it gets an offer, even with spots to fill.",
            "sure": "A candidate with at least this chance of belonging above the cut is clear "
            "in; with at most the rest, clear out; between, too close to call.",
        }

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.season = season


class CopyForm(forms.Form):
    """A new tryout like an earlier one."""

    name = forms.CharField(max_length=60)
    of = forms.ModelChoiceField(Tryout.objects.none(), label="Set up like")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        of = self.fields["of"]
        assert isinstance(of, forms.ModelChoiceField)
        of.queryset = Tryout.objects.select_related("season")
        of.label_from_instance = _with_season  # type: ignore[method-assign, assignment]


def _with_season(tryout: Tryout) -> str:
    return f"{tryout}, {tryout.season.name}"


class SessionForm(AsksReadings, forms.ModelForm[TryoutSession]):
    """The time is of the season's zone."""

    class Meta:
        model = TryoutSession
        error_messages = once("session")
        fields = ["name", "starts_at", "place", "is_calibration"]
        field_classes = {"starts_at": LocalMomentField}
        labels = {"place": "Place"}

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        self.zone = tryout.zone
        instance = kwargs.get("instance")
        if instance is not None and instance.pk:
            local = instance.starts_at.astimezone(self.zone).replace(tzinfo=None)
            kwargs["initial"] = {"starts_at": local}
        super().__init__(*args, **kwargs)
        if instance is not None and instance.pk:
            self.offer("starts_at", instance.starts_at, self.zone)
        self.instance.tryout = tryout

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("starts_at") is not None:
            data["starts_at"] = self.reading("starts_at", data["starts_at"], self.zone)
        return data


class TryoutCriterionForm(forms.ModelForm[TryoutCriterion]):
    """A criterion; a fundamental is chosen from those the band has."""

    fundamental = forms.ChoiceField(
        required=False,
        label="Which fundamental",
        help_text="Whoever reaches the passing mark has passed it in the lineup, too.",
    )

    class Meta:
        model = TryoutCriterion
        error_messages = once("criterion")
        fields = [
            "name",
            "kind",
            "fundamental",
            "bottom",
            "top",
            "passing",
            "weight",
            "anchors",
            "order",
        ]
        labels = {"passing": "Passing mark", "anchors": "What the marks mean"}
        help_texts = {"weight": "2 counts twice as much as 1."}
        widgets = {"anchors": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.tryout = tryout
        known = merged(FUNDAMENTALS.ask(tryout.season))
        field = self.fields["fundamental"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [("", "none"), *sorted(known.items(), key=lambda item: item[1])]
        field.widget.attrs.update(only_for(CriterionKind.FUNDAMENTAL))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("kind") != CriterionKind.FUNDAMENTAL:
            data["fundamental"] = ""
        return data


class TiesForm(forms.Form):
    """Which criteria break ties: first, second, third."""

    PLACES = ("first", "second", "third")

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        criteria = queries.criteria(tryout)
        for at, place in enumerate(self.PLACES):
            now = tryout.tie_order[at] if at < len(tryout.tie_order) else None
            self.fields[place] = forms.ModelChoiceField(
                criteria,
                required=False,
                initial=now,
                label=f"{place.capitalize()} the higher in",
                empty_label="nothing: the tie stays",
            )

    @property
    def chosen(self) -> list[TryoutCriterion]:
        """In order, each once."""
        found = [self.cleaned_data[place] for place in self.PLACES if self.cleaned_data[place]]
        return list(dict.fromkeys(found))


class QuotasForm(forms.Form):
    """A line for each part."""

    COLUMNS = ("minimum", "target", "maximum", "alternates")

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.parts = list(people_queries.parts(tryout.season))
        now = {q.part_id: q for q in queries.quotas(tryout)}
        for part in self.parts:
            quota = now.get(part.pk) or TryoutQuota()
            for column in self.COLUMNS:
                self.fields[f"{column}{part.pk}"] = forms.IntegerField(
                    label=f"{part}, {column}",
                    min_value=0,
                    max_value=MOST_SPOTS,
                    required=False,
                    initial=getattr(quota, column),
                    widget=forms.NumberInput(attrs={"class": "short", "inputmode": "numeric"}),
                )

    def clean(self) -> dict[str, Any]:
        """A part's numbers rise; one that only says how many it wants has that as its maximum."""
        data = super().clean() or {}
        for part in self.parts:
            low, target, high, _ = (data.get(f"{c}{part.pk}") or 0 for c in self.COLUMNS)
            data[f"maximum{part.pk}"] = high = high or target
            if not low <= target <= high:
                text = f"{part}: minimum, spots to fill and maximum must rise."
                self.add_error(f"target{part.pk}", text)
        return data

    def rows(self) -> list[tuple[Part, list[forms.BoundField]]]:
        """Each part with its fields, for the page."""
        return [(p, [self[f"{c}{p.pk}"] for c in self.COLUMNS]) for p in self.parts]

    @property
    def wanted(self) -> dict[Part, Wanted]:
        return {
            part: Wanted(*(self.cleaned_data[f"{c}{part.pk}"] or 0 for c in self.COLUMNS))
            for part in self.parts
        }


class ItemForm(forms.ModelForm[ReadinessItem]):
    class Meta:
        model = ReadinessItem
        error_messages = once("readiness item")
        fields = ["name", "needed_to_march", "order"]
        help_texts = {
            "name": "Such as “physical form” or “instrument contract”. Never write why "
            "somebody lacks it."
        }

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.tryout = tryout
