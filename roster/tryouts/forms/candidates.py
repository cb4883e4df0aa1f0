"""Candidates: who they are, what they want, who must not mark them."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.person_names import read_name
from roster.people import queries as people_queries
from roster.people.models import Part, Person
from roster.tryouts import queries
from roster.tryouts.models import Candidate, Panelist, ReadinessItem, Tryout
from roster.tryouts.models.candidates import MOST_NUMBER
from roster.tryouts.services.candidates import FIRST_NUMBER

PERSON_FIELDS = ("legal_name", "used_name", "pronunciation", "pronouns", "email", "student_number")
CANDIDATE_FIELDS = ("years_marched", "may_lead", "height")
WISHES = 4


class CandidateForm(forms.Form):
    """A candidate and up to four parts in their own order."""

    legal_name = forms.CharField(max_length=200)
    used_name = forms.CharField(
        max_length=200, required=False, help_text="The name to call and print."
    )
    pronunciation = forms.CharField(max_length=200, required=False)
    pronouns = forms.CharField(max_length=50, required=False)
    email = forms.EmailField(required=False)
    student_number = forms.CharField(max_length=40, required=False)
    years_marched = forms.IntegerField(
        min_value=0, max_value=20, initial=0, help_text="0 for somebody new."
    )
    may_lead = forms.BooleanField(label="May lead a rank", required=False)
    height = forms.IntegerField(
        label="Height in cm",
        min_value=90,
        max_value=250,
        required=False,
        help_text="Only if they want it considered for where they stand. Staff only.",
    )
    namesake = forms.BooleanField(
        label="A different person of the same name",
        required=False,
        help_text="Only for somebody new who shares a name or address with somebody here.",
    )

    fine = ("pronunciation", "pronouns", "namesake")

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for at in range(1, WISHES + 1):
            self.fields[f"wish{at}"] = forms.ModelChoiceField(
                people_queries.parts(tryout.season),
                required=at == 1,
                label="Wants" if at == 1 else f"Choice {at}",
            )
        self.order_fields([*PERSON_FIELDS[:2], *(f"wish{n}" for n in range(1, WISHES + 1))])

    @classmethod
    def of(cls, candidate: Candidate, data: Any = None) -> CandidateForm:
        initial: dict[str, Any] = {n: getattr(candidate.person, n) for n in PERSON_FIELDS}
        initial |= {n: getattr(candidate, n) for n in CANDIDATE_FIELDS}
        parts = [wish.part for wish in candidate.wishes.select_related("part")]
        initial |= {f"wish{n}": part for n, part in enumerate(parts, 1)}
        form = cls(candidate.tryout, data, initial=initial)
        del form.fields["namesake"]
        return form

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if "legal_name" in self.changed_data and data.get("legal_name"):
            name = read_name(data["legal_name"])
            data["legal_name"] = name.called
            data["used_name"] = data.get("used_name") or (name.used if name.nickname else "")
        if len(set(self.wishes)) < len(self.wishes):
            self.add_error(None, "Each part can be wanted once.")
        return data

    @property
    def wishes(self) -> list[Part]:
        found = (self.cleaned_data.get(f"wish{n}") for n in range(1, WISHES + 1))
        return [part for part in found if part]

    @property
    def person_values(self) -> dict[str, Any]:
        return {n: self.cleaned_data[n] for n in PERSON_FIELDS}

    @property
    def values(self) -> dict[str, Any]:
        return {n: self.cleaned_data[n] for n in CANDIDATE_FIELDS}

    def new_person(self) -> Person:
        """The person: who has the student number already, or somebody new."""
        number = self.cleaned_data["student_number"]
        known = Person.objects.filter(student_number=number).first() if number else None
        if known is None:
            return Person(**self.person_values)
        return known.merged_into or known


class ReadyForm(forms.Form):
    """What a candidate has of what is asked for."""

    items = forms.ModelMultipleChoiceField(
        ReadinessItem.objects.none(),
        label="Has",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        items = self.fields["items"]
        assert isinstance(items, forms.ModelMultipleChoiceField)
        items.queryset = ReadinessItem.objects.filter(tryout=tryout)


class NumbersForm(forms.Form):
    start = forms.IntegerField(
        label="First number", min_value=1, max_value=MOST_NUMBER, initial=FIRST_NUMBER
    )


class RecuseForm(forms.Form):
    """Which evaluator declared a relation."""

    evaluator = forms.ModelChoiceField(
        Panelist.objects.none(),
        help_text="Somebody who told you that they are related to this candidate, or teach, or "
        "know them well. Which it is stays unwritten.",
    )

    def __init__(self, tryout: Tryout, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["evaluator"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = queries.panelists(tryout)
        field.label_from_instance = panelist_label  # type: ignore[method-assign, assignment]


def panelist_label(panelist: Panelist) -> str:
    """'B, Dana Ferrow'."""
    return f"{panelist.code}, {panelist.user}"
