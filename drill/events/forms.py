"""Events and segments."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from bandops.lib.dates import in_zone
from bandops.lib.web.forms import DayField, LocalMomentField, TimeInput
from drill.events.models import Event, Segment
from drill.field.fields import field_choice
from drill.shows.models import Show
from roster.people import queries as people_queries
from roster.people.fields import MembersField
from roster.people.models import Member, Season


class EventForm(forms.ModelForm[Event]):
    class Meta:
        model = Event
        error_messages = {
            NON_FIELD_ERRORS: {
                "unique_together": "There is an event of that name on that day already."
            }
        }
        fields = [
            "name",
            "kind",
            "venue",
            "date",
            "time_zone",
            "call_time",
            "cut_off",
            "travel_limit",
            "uniform",
            "field_type",
        ]
        field_classes = {"date": DayField, "cut_off": LocalMomentField}
        widgets = {"call_time": TimeInput()}
        help_texts = {
            "time_zone": "Such as America/Chicago; all times of the event are local to it.",
            "cut_off": "Local to the time zone. After it only the director changes the lineup.",
            "travel_limit": "How many people may travel; empty for no limit.",
        }

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        instance = kwargs.get("instance")
        initial = {"time_zone": season.time_zone, **(kwargs.get("initial") or {})}
        if instance is not None and instance.cut_off is not None:
            initial["cut_off"] = in_zone(instance.cut_off, instance.zone).replace(tzinfo=None)
        kwargs["initial"] = initial
        super().__init__(*args, **kwargs)
        self.instance.season = season
        self.fields["field_type"] = field_choice(season, self.fields["field_type"])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        moment, zone = data.get("cut_off"), data.get("time_zone")
        if moment is not None and zone and "time_zone" not in self.errors:
            data["cut_off"] = moment.replace(tzinfo=ZoneInfo(zone))
        return data


class SegmentForm(forms.ModelForm[Segment]):
    class Meta:
        model = Segment
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "The event has a segment of that name already."}
        }
        fields = ["name", "kind", "show", "starts", "ends"]
        widgets = {"starts": TimeInput(), "ends": TimeInput()}
        help_texts = {"show": "The drill that is marched; empty for stands and duty."}

    def __init__(self, event: Event, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instance.event = event
        show = self.fields["show"]
        assert isinstance(show, forms.ModelChoiceField)
        show.queryset = Show.objects.filter(season=event.season_id)


class CopyForm(forms.Form):
    name = forms.CharField(max_length=100)
    date = DayField()


class MustTravelForm(forms.Form):
    members = MembersField(
        Member.objects.none(),
        label="Must come along, marching or not",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, event: Event, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["members"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = people_queries.active_members(event.season)
