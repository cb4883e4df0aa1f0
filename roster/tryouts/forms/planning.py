"""Evaluators of a tryout, groups, and one group's candidates and panel."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.accounts.models import User
from bandops.lib.web.forms import LocalMomentField
from bandops.lib.web.readings import AsksReadings
from roster.people import queries as people_queries
from roster.people.enums import Role
from roster.people.models import Part
from roster.tryouts import queries
from roster.tryouts.forms.candidates import panelist_label
from roster.tryouts.forms.setting_up import once
from roster.tryouts.models import Candidate, Panelist, Tryout, TryoutGroup, TryoutSession
from roster.tryouts.models.plan import LONGEST_GROUP
from roster.tryouts.services.planning import Grouping

JUDGES = (Role.EVALUATOR, Role.STAFF, Role.DIRECTOR)


class PanelistForm(forms.ModelForm[Panelist]):
    """An evaluator: who, what they are called on sheets, and when they are not there."""

    class Meta:
        model = Panelist
        error_messages = once("evaluator")
        fields = ["user", "code", "most_looks", "away"]
        labels = {
            "user": "Who",
            "code": "Called on sheets",
            "most_looks": "Most looks",
            "away": "Not there in",
        }
        help_texts = {"code": "A letter. Empty: the next free one."}
        widgets = {"away": forms.CheckboxSelectMultiple}

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.tryout = tryout
        self.fields["code"].required = False
        away = self.fields["away"]
        assert isinstance(away, forms.ModelMultipleChoiceField)
        away.queryset = TryoutSession.objects.filter(tryout=tryout)
        if self.instance.pk:
            del self.fields["user"]
            return
        user = self.fields["user"]
        assert isinstance(user, forms.ModelChoiceField)
        of_season = {"role_grants__season": tryout.season, "role_grants__role__in": JUDGES}
        user.queryset = (
            User.objects.filter(is_active=True, **of_season)
            .exclude(panels__tryout=tryout)
            .distinct()
            .order_by("name")
        )


class GroupsForm(forms.Form):
    """How a session's candidates are put into groups."""

    size = forms.IntegerField(label="Candidates in a group", min_value=1, max_value=60, initial=8)
    together = forms.IntegerField(
        label="Groups at the same time", min_value=1, max_value=30, initial=2
    )
    minutes = forms.IntegerField(
        label="Minutes each", min_value=1, max_value=LONGEST_GROUP, initial=12
    )
    first = forms.IntegerField(label="Numbers from", required=False, min_value=1)
    last = forms.IntegerField(
        label="Numbers to",
        required=False,
        min_value=1,
        help_text="Where a session sees only some of the candidates.",
    )
    parts = forms.ModelMultipleChoiceField(
        Part.objects.none(),
        required=False,
        label="Only those who want first",
        widget=forms.CheckboxSelectMultiple,
        help_text="None checked: everybody with a number.",
    )

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        parts = self.fields["parts"]
        assert isinstance(parts, forms.ModelMultipleChoiceField)
        parts.queryset = people_queries.parts(tryout.season)

    @property
    def grouping(self) -> Grouping:
        data = self.cleaned_data
        return Grouping(
            data["size"],
            data["together"],
            data["minutes"],
            tuple(data["parts"]),
            data["first"],
            data["last"],
        )


class GroupForm(AsksReadings, forms.Form):
    """One group: when, whom by number, and who marks it."""

    starts_at = LocalMomentField(label="Starts")
    numbers = forms.CharField(
        label="Candidates by number",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="In the order of the sheet, separated by blanks or commas.",
    )
    panel = forms.ModelMultipleChoiceField(
        Panelist.objects.none(),
        required=False,
        label="Evaluators",
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, tryout: Tryout, group: TryoutGroup, *args: Any, **kwargs: Any) -> None:
        self.tryout, self.zone = tryout, tryout.zone
        places = group.places.select_related("candidate")
        kwargs["initial"] = {
            "starts_at": group.starts_at.astimezone(self.zone).replace(tzinfo=None),
            "numbers": " ".join(place.candidate.called for place in places),
            "panel": list(group.panel.values_list("panelist_id", flat=True)),
        }
        super().__init__(*args, **kwargs)
        self.offer("starts_at", group.starts_at, self.zone)
        panel = self.fields["panel"]
        assert isinstance(panel, forms.ModelMultipleChoiceField)
        panel.queryset = queries.panelists(tryout)
        panel.label_from_instance = panelist_label  # type: ignore[method-assign, assignment]

    def clean_numbers(self) -> list[Candidate]:
        """The candidates; each number once, and one that somebody has."""
        texts = self.cleaned_data["numbers"].replace(",", " ").split()
        by_number = {str(c.number): c for c in Candidate.objects.filter(tryout=self.tryout)}
        unknown = [text for text in texts if text not in by_number]
        if unknown:
            raise forms.ValidationError(f"Nobody has the number {', '.join(unknown)}.")
        if len(set(texts)) < len(texts):
            raise forms.ValidationError("A number stands there twice.")
        return [by_number[text] for text in texts]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("starts_at") is not None:
            data["starts_at"] = self.reading("starts_at", data["starts_at"], self.zone)
        return data
