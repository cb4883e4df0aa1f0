"""Absences: the staff's form and the short one for members and rank leaders."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from itertools import groupby
from typing import Any

from django import forms
from django.forms.models import ModelChoiceIterator

from bandops.lib.dates import weekday_words
from bandops.lib.web.forms import ChanceField, DayField, TimeInput, only_for
from bandops.lib.web.needs import Need, NeedyForm
from drill.absences.enums import AbsenceKind, ReasonCategory
from drill.absences.services.absences import Report
from drill.events import queries as event_queries
from drill.events.models import Event, Segment
from roster.people import queries as people_queries
from roster.people.fields import MemberField
from roster.people.models import Member, Season


class SegmentSelect(forms.Select):
    """Tells of each segment whose it is, so that a page can keep event and segment together."""

    def create_option(self, name: str, value: Any, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option: dict[str, Any] = super().create_option(name, value, *args, **kwargs)
        segment = getattr(value, "instance", None)
        if segment is not None:
            option["attrs"]["data-of"] = segment.event_id
        return option


class SegmentsByEvent(ModelChoiceIterator):  # type: ignore[type-arg]
    """The segments under their events: what was chosen is named once, by both."""

    def __iter__(self) -> Iterator[tuple[Any, Any]]:
        yield "", self.field.empty_label
        for event, segments in groupby(self.queryset, key=lambda segment: segment.event):
            yield _event_words(event), [self.choice(segment) for segment in segments]


class SegmentField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A segment of an event to come, by name."""

    iterator = SegmentsByEvent


def _event_words(event: Event) -> str:
    return f"{weekday_words(event.date)}, {event.name}"


class ReportForm(NeedyForm):
    """When somebody cannot come: an event, one segment of it, or dates. No reason is asked."""

    needs = (
        Need("event", "Choose an event, or give a first day.", instead=("segment", "from_date")),
        Need("late_until", "Which time?", when=("kind", AbsenceKind.LATE.value)),
        Need("leaves_at", "Which time?", when=("kind", AbsenceKind.LEAVES.value)),
    )

    kind = forms.ChoiceField(choices=AbsenceKind.choices, initial=AbsenceKind.OUT)
    event = forms.ModelChoiceField(
        Event.objects.none(), required=False, help_text="Or dates below."
    )
    segment = SegmentField(
        Segment.objects.none(),
        required=False,
        help_text="Empty: the whole event.",
        widget=SegmentSelect(attrs={"data-follows": "event"}),
    )
    from_date = DayField(label="From", required=False)
    until_date = DayField(
        label="Through",
        required=False,
        help_text="Empty: until further notice.",
    )
    late_until = forms.TimeField(widget=TimeInput(attrs=only_for(AbsenceKind.LATE)), required=False)
    leaves_at = forms.TimeField(
        widget=TimeInput(attrs=only_for(AbsenceKind.LEAVES)), required=False
    )

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.season = season
        events = event_queries.coming_events(season)
        segments = Segment.objects.filter(event__in=events).select_related("event")
        self._choose("event", events.prefetch_related(None))
        self._choose("segment", segments.order_by("event__date", "order"))
        event = self.fields["event"]
        assert isinstance(event, forms.ModelChoiceField)
        event.label_from_instance = _event_words  # type: ignore[assignment, method-assign]

    def _choose(self, name: str, queryset: Any) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = queryset

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        segment = data.get("segment")
        if segment is not None:
            chosen = data.get("event") if "event" in self.changed_data else None
            if chosen not in (None, segment.event):
                self.add_error("segment", "This segment belongs to another event.")
            data["event"] = segment.event
        start, end = data.get("from_date"), data.get("until_date")
        if start and segment is None and "event" not in self.changed_data:
            data["event"] = None  # it was only proposed
        if start and not self.season.starts <= start <= self.season.ends:
            self.add_error("from_date", f"This day is outside the season ({self.season}).")
        if start and end and end < start:
            self.add_error("until_date", "The last day is before the first.")
        return data

    def report(self, member: Member) -> Report:
        """What the form says about a member."""
        return Report(member, {k: v for k, v in self.cleaned_data.items() if k != "member"})


class StaffReportForm(ReportForm):
    """With the chance, a category for staff only, and when to look again."""

    member = MemberField(Member.objects.none())
    chance = ChanceField(
        label="Chance of being out",
        min_value=0,
        max_value=1,
        decimal_places=2,
        required=False,
        widget=forms.TextInput(attrs=only_for(AbsenceKind.DOUBTFUL)),
        help_text="In percent; 30% means they will probably march. Empty: 50%.",
    )
    category = forms.ChoiceField(
        choices=ReasonCategory.choices,
        required=False,
        help_text="For staff only. Never write a diagnosis anywhere.",
    )
    review_date = DayField(label="Look again on", required=False)

    field_order = ("member", "kind", "event", "segment", "from_date", "until_date")

    def __init__(self, season: Season, *args: Any, **kwargs: Any) -> None:
        super().__init__(season, *args, **kwargs)
        self._choose("member", people_queries.active_members(season))

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if data.get("chance") is None:
            doubtful = data.get("kind") == AbsenceKind.DOUBTFUL
            data["chance"] = Decimal("0.5") if doubtful else Decimal(1)
        return data


class RankReportForm(ReportForm):
    """A rank leader reports somebody of the rank."""

    member = MemberField(Member.objects.none())
    field_order = ("member", "kind", "event", "segment", "from_date", "until_date")

    def __init__(self, season: Season, members: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(season, *args, **kwargs)
        self._choose("member", members)


def default_event(season: Season) -> Event | None:
    """The event a report is most likely about."""
    event = event_queries.next_event(season)
    return event if event is not None and not event.is_over() else None
