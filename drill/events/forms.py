"""Events and segments."""

from __future__ import annotations

import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS

from bandops.lib import zones
from bandops.lib.dates import in_zone
from bandops.lib.web.forms import DayField, LocalMomentField, TimeInput
from bandops.lib.web.readings import AsksReadings
from bandops.lib.zones import ZoneField
from drill.events.models import Event, Segment
from drill.field.fields import field_choice
from drill.shows.models import Show
from roster.people import queries as people_queries
from roster.people.fields import MemberField, MembersField
from roster.people.models import Member, Season


class EventForm(AsksReadings, forms.ModelForm[Event]):
    class Meta:
        model = Event
        error_messages = {
            NON_FIELD_ERRORS: {
                "unique_together": "There is already an event by that name that day."
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
        field_classes = {"date": DayField, "time_zone": ZoneField, "cut_off": LocalMomentField}
        widgets = {"call_time": TimeInput()}
        help_texts = {
            "time_zone": "All times of the event go by this clock. " + zones.HELP,
            "cut_off": "By that clock. After it only the director can change the lineup.",
            "travel_limit": "How many people may travel. Empty: no limit.",
        }

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        known = kwargs.get("instance")
        initial = dict(kwargs.get("initial") or {})
        if known is None or not known.time_zone:
            initial.setdefault("time_zone", season.time_zone)
        elif known.cut_off is not None:
            initial["cut_off"] = in_zone(known.cut_off, known.zone).replace(tzinfo=None)
        kwargs["initial"] = initial
        super().__init__(*args, **kwargs)
        self.instance.season = season
        self.fields["field_type"] = field_choice(season, self.fields["field_type"])
        if known is not None and known.pk:
            moments = {"call_time": known.called_at, "cut_off": known.cut_off}
            for name, moment in moments.items():
                if moment is not None:
                    self.offer(name, moment, known.zone)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("time_zone"):
            zone = ZoneInfo(data["time_zone"])
            if data.get("cut_off") is not None:
                data["cut_off"] = self.reading("cut_off", data["cut_off"], zone)
            if data.get("call_time") is not None and data.get("date"):
                self._read_call(data, zone)
        return data

    def _read_call(self, data: dict[str, Any], zone: ZoneInfo) -> None:
        local = datetime.datetime.combine(data["date"], data["call_time"])
        moment = self.reading("call_time", local, zone)
        if moment is not None:
            data["call_time"] = moment.time().replace(fold=0)
            self.instance.call_fold = bool(moment.fold)


class SegmentForm(AsksReadings, forms.ModelForm[Segment]):
    class Meta:
        model = Segment
        error_messages = {
            NON_FIELD_ERRORS: {"unique_together": "The event already has a segment by that name."}
        }
        fields = ["name", "kind", "show", "starts", "ends"]
        widgets = {"starts": TimeInput(), "ends": TimeInput()}
        help_texts = {
            "show": "The drill you march. Empty for stands and duty.",
            "ends": "A time at or before the start means after midnight.",
        }

    def __init__(self, event: Event, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = self.instance.pk is not None
        self.instance.event = event
        show = self.fields["show"]
        assert isinstance(show, forms.ModelChoiceField)
        show.queryset = Show.objects.filter(season=event.season_id)
        if known:
            for name, moment in zip(("starts", "ends"), event.span(self.instance), strict=True):
                self.offer(name, moment, event.zone)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        starts, ends = data.get("starts"), data.get("ends")
        if starts is not None and ends is not None:
            days = self.instance.event.days_of(starts, ends)
            for name, day in zip(("starts", "ends"), days, strict=True):
                self._read(data, name, day)
        return data

    def _read(self, data: dict[str, Any], name: str, day: datetime.date) -> None:
        local = datetime.datetime.combine(day, data[name])
        moment = self.reading(name, local, self.instance.event.zone)
        if moment is not None:
            data[name] = moment.time().replace(fold=0)
            setattr(self.instance, f"{name}_fold", bool(moment.fold))


class CopyForm(forms.Form):
    name = forms.CharField(max_length=100)
    date = DayField()


class MustTravelForm(forms.Form):
    """Those who must, each to be taken off, and one more."""

    members = MembersField(
        Member.objects.none(),
        label="Must travel; clear a name to take it off",
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    add = MemberField(Member.objects.none(), label="Add", required=False, empty_label="nobody")

    def __init__(self, event: Event, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        already = list(event.must_travel.select_related("person"))
        members, more = self.fields["members"], self.fields["add"]
        assert isinstance(members, MembersField) and isinstance(more, MemberField)
        members.queryset = event.must_travel.all()
        members.choices = [(m.pk, members.label_from_instance(m)) for m in already]
        members.initial = [m.pk for m in already]
        others = people_queries.active_members(event.season)
        more.queryset = others.exclude(pk__in=members.initial)
        if not already:
            del self.fields["members"]

    @property
    def chosen(self) -> list[Member]:
        """Everybody who must travel from now on."""
        more = self.cleaned_data["add"]
        return [*self.cleaned_data.get("members", ()), *([more] if more else [])]
