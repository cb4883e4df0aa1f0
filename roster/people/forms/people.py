"""Members: what is recorded, clearance and eligibility."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib.person_names import read_name
from bandops.lib.web.forms import DayField
from roster.people import queries
from roster.people.enums import Standing
from roster.people.models import MOST_YEARS, Instrument, Member, Part, Person, Season
from roster.people.services.people import Skill

PERSON_FIELDS = (
    "legal_name",
    "used_name",
    "pronunciation",
    "pronouns",
    "email",
    "student_number",
    "listed",
    "share_contact",
)
MEMBER_FIELDS = ("years_marched", "phone", "emergency_contact")
STANDING_FIELDS = ("cleared", "cleared_until", "cleared_by", "eligible", "eligible_until")


class MemberForm(forms.Form):
    """A person in the season, with what they play."""

    legal_name = forms.CharField(max_length=200)
    used_name = forms.CharField(
        label="Name used", max_length=200, required=False, help_text="The name to call and print."
    )
    pronunciation = forms.CharField(max_length=200, required=False)
    pronouns = forms.CharField(max_length=50, required=False)
    email = forms.EmailField(label="Email", required=False)
    student_number = forms.CharField(max_length=40, required=False)
    phone = forms.CharField(max_length=40, required=False)
    emergency_contact = forms.CharField(max_length=200, required=False)
    years_marched = forms.IntegerField(min_value=0, max_value=MOST_YEARS, initial=0)
    main = forms.ModelChoiceField(Part.objects.none(), label="Main part")
    doubles = forms.ModelMultipleChoiceField(
        Part.objects.none(),
        label="Doubles on",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    owned = forms.ModelMultipleChoiceField(
        Instrument.objects.none(),
        label="Brings their own",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="Instruments of a kind the school lends out.",
    )
    listed = forms.BooleanField(label="May be named on public lists", required=False, initial=True)
    share_contact = forms.BooleanField(
        label="Rank leader may see phone and email", required=False, initial=True
    )

    namesake = forms.BooleanField(
        label="A different person of the same name",
        required=False,
        help_text="Only for somebody new who shares a name, address or phone with a member.",
    )

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        parts = queries.parts(season)
        for name in ("main", "doubles"):
            field = self.fields[name]
            assert isinstance(field, forms.ModelChoiceField)
            field.queryset = parts
        owned = self.fields["owned"]
        assert isinstance(owned, forms.ModelChoiceField)
        owned.queryset = queries.instruments(season).filter(school_stock__isnull=False)

    @classmethod
    def of(cls, member: Member, data: Any = None) -> MemberForm:
        initial: dict[str, Any] = {n: getattr(member.person, n) for n in PERSON_FIELDS}
        initial |= {n: getattr(member, n) for n in MEMBER_FIELDS}
        rows = list(member.qualifications.select_related("part"))
        initial["main"] = next((q.part for q in rows if q.main), None)
        initial["doubles"] = [q.part for q in rows if not q.main]
        initial["owned"] = [q.part.instrument_id for q in rows if q.own_instrument]
        form = cls(member.season, data, initial=initial)
        del form.fields["namesake"]
        return form

    def clean(self) -> dict[str, Any]:
        """Names as they are called, in whatever order and dress they were typed."""
        data = super().clean() or {}
        for key in {"legal_name", "used_name"} & data.keys() - set(self._as_stored()):
            name = read_name(data[key])
            data[key] = name.called
            if key == "legal_name" and name.nickname:
                data["used_name"] = data.get("used_name") or name.used
        return data

    def _as_stored(self) -> list[str]:
        """The names that stay as they are."""
        return [k for k in ("legal_name", "used_name") if k not in self.changed_data]

    @property
    def person_values(self) -> dict[str, Any]:
        return {n: self.cleaned_data[n] for n in PERSON_FIELDS}

    @property
    def member_values(self) -> dict[str, Any]:
        return {n: self.cleaned_data[n] for n in MEMBER_FIELDS}

    @property
    def main_skill(self) -> Skill:
        return self._skill(self.cleaned_data["main"])

    @property
    def double_skills(self) -> list[Skill]:
        return [self._skill(part) for part in self.cleaned_data["doubles"]]

    def _skill(self, part: Part) -> Skill:
        owned = {instrument.pk for instrument in self.cleaned_data["owned"]}
        return Skill(part, part.instrument_id in owned)

    def new_person(self) -> Person:
        return Person(**self.person_values)


class StandingForm(forms.ModelForm[Member]):
    """Cleared and eligible: yes, no or through a date, and who said so; never why."""

    class Meta:
        model = Member
        fields = list(STANDING_FIELDS)
        field_classes = {"cleared_until": DayField, "eligible_until": DayField}
        labels = {"cleared": "Cleared to march", "eligible": "Eligible"}
        help_texts = {
            "cleared": "As the athletic trainer says. Never write why.",
            "eligible": "As the school says. Never write why.",
        }

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        for name in ("cleared", "eligible"):
            if data.get(name) != Standing.UNTIL:
                data[f"{name}_until"] = None
            elif not data.get(f"{name}_until"):
                self.add_error(f"{name}_until", "Through which date?")
        return data
