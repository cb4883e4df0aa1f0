"""Seasons and roles."""

from __future__ import annotations

from typing import Any

from django import forms

from bandops.lib import zones
from bandops.lib.accounts.models import User
from bandops.lib.web.forms import ChanceField, DayField, TimeInput
from bandops.lib.zones import ZoneField, ZoneInput
from roster.people.enums import Role
from roster.people.models import Season


class SeasonForm(forms.ModelForm[Season]):
    class Meta:
        model = Season
        fields = [
            "name",
            "band_name",
            "starts",
            "ends",
            "time_zone",
            "paper",
            "doubtful_out_from",
            "usual_out",
            "use_weights",
            "fairness_before_standing",
            "quiet_from",
            "quiet_until",
        ]
        field_classes = {
            "starts": DayField,
            "ends": DayField,
            "time_zone": ZoneField,
            "doubtful_out_from": ChanceField,
            "usual_out": ChanceField,
        }
        widgets = {
            "quiet_from": TimeInput(),
            "quiet_until": TimeInput(),
        }
        help_texts = {
            "time_zone": "The band's own clock; an event can have its own. " + zones.HELP,
            "doubtful_out_from": "50%: plan without anybody who is even odds to be out. "
            "Below that they are placed and marked doubtful.",
            "usual_out": "5% means one in twenty. Empty: the share missing at this season’s "
            "performances so far (5% before the first).",
            "quiet_until": "Empty: none. Within twelve hours of a call, emails go out at once.",
        }


class ClockForm(forms.Form):
    """The band's own clock, asked for in the first set-up."""

    time_zone = ZoneField(
        widget=ZoneInput(
            attrs={
                "aria-label": "The band's time zone",
                "aria-describedby": "clock",
                "class": "auto",
            }
        )
    )


class RoleForm(forms.Form):
    email = forms.EmailField(label="Email")
    name = forms.CharField(max_length=200, required=False)
    role = forms.ChoiceField(choices=Role.choices)
    invite = forms.BooleanField(label="Email an invitation", required=False, initial=True)


class OfStaffForm(forms.Form):
    """Somebody of the staff who is no director."""

    user = forms.ModelChoiceField(User.objects.none(), label="Who")

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        grants = season.role_grants
        staff = grants.filter(role=Role.STAFF).values("user")
        directors = grants.filter(role=Role.DIRECTOR).values("user")
        field = self.fields["user"]
        assert isinstance(field, forms.ModelChoiceField)
        active = User.objects.filter(pk__in=staff, is_active=True)
        field.queryset = active.exclude(pk__in=directors)


class DeputyForm(OfStaffForm):
    """From when to when they have the director's rights."""

    starts = DayField(label="First day")
    ends = DayField(label="Last day", required=False, help_text="Empty: the first day only.")


class HandOverForm(OfStaffForm):
    """Who directs the band from now on, and whether whoever did stays."""

    stays = forms.BooleanField(label="I stay on the staff", required=False, initial=True)
    sure = forms.BooleanField(
        label="From now on they direct the band, and I don’t",
        help_text="They can hand it back; you can’t take it back.",
    )


class NextSeasonForm(forms.Form):
    """What the next season is called and when it is, and what comes along."""

    name = forms.CharField(max_length=100)
    starts = DayField(label="First day")
    ends = DayField(label="Last day")
    members = forms.BooleanField(
        label="Members come along",
        required=False,
        help_text="Everybody active (a year more) or on leave. Not if a tryout chooses anew.",
    )
    holders = forms.BooleanField(
        label="They hold the spots they hold now", required=False, help_text="Until you move them."
    )
    roles = forms.BooleanField(
        label="Staff, evaluators and equipment managers keep their roles",
        required=False,
        initial=True,
    )
    over = forms.BooleanField(label="This season is over", required=False)

    def __init__(self, coming: int, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.coming = coming
        if not coming:
            del self.fields["over"]
        else:
            events = "1 event is" if coming == 1 else f"{coming} events are"
            self.fields["over"].help_text = f"{events} still to come, and leave the pages."

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("starts") and data.get("ends") and data["ends"] < data["starts"]:
            self.add_error("ends", "The last day is before the first.")
        if data.get("holders") and not data.get("members"):
            self.add_error("holders", "Only members who come along hold a spot.")
        if self.coming and not data.get("over"):
            self.add_error("over", "Check this: the pages show the next season from then on.")
        return data
