"""Events with their segments and newest revision; adding and changing them."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.forms.models import model_to_dict
from django_filters import DateFilter
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.api.problems import ProblemDetailsSerializer
from bandops.lib.api.resources import Filter, Row, Rows, etag_of, read, refuse_form
from bandops.lib.api.writing import ONCE, once, refuse_unseen
from bandops.lib.ties import merged
from bandops.lib.web import rules
from drill.events import queries
from drill.events.enums import EventKind
from drill.events.forms import EventForm
from drill.events.models import Event
from drill.events.services.events import save_event
from drill.events.ties import EVENT_LIST


class EventSerializer(serializers.ModelSerializer[Event]):
    """An event; ``revision`` is the number of its newest published lineup."""

    revision = serializers.SerializerMethodField()
    kind = serializers.CharField(read_only=True, help_text=", ".join(EventKind.values))

    class Meta:
        model = Event
        fields = ["id", "name", "date", "kind", "revision", "venue", "time_zone", "call_time"]

    def get_revision(self, event: Event) -> int | None:
        numbers: dict[int, int] = self.context["numbers"]
        return numbers.get(event.pk)


class SegmentSerializer(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    name = serializers.CharField()
    kind = serializers.CharField()
    starts = serializers.TimeField()
    ends = serializers.TimeField()


class WholeEventSerializer(EventSerializer):
    """An event with its segments, in order."""

    segments = serializers.SerializerMethodField()

    class Meta(EventSerializer.Meta):
        fields = [*EventSerializer.Meta.fields, "field_type", "travel_limit", "segments"]

    def get_segments(self, event: Event) -> list[dict[str, Any]]:
        rows = sorted(event.segments.all(), key=lambda segment: segment.order)
        return list(SegmentSerializer(rows, many=True).data)


class ChangeSerializer(serializers.Serializer[dict[str, Any]]):
    """What may be said of an event; of a known one, what is not sent stays."""

    name = serializers.CharField(max_length=100, required=False)
    kind = serializers.CharField(max_length=10, required=False)
    venue = serializers.CharField(max_length=100, allow_blank=True, required=False)
    date = serializers.DateField(required=False)
    time_zone = serializers.CharField(max_length=64, required=False)
    call_time = serializers.TimeField(required=False, allow_null=True)
    field_type = serializers.CharField(max_length=40, required=False)


class EventFilter(Filter):
    """By kind, and from or until a day."""

    since = DateFilter(field_name="date", lookup_expr="gte")
    until = DateFilter(field_name="date", lookup_expr="lte")

    class Meta:
        model = Event
        fields = ["kind"]


class OfEvents:
    """Whoever knows names reads events, staff write them. Serializers are given the newest
    revisions, read once."""

    def may(self, viewer: Viewer) -> bool:
        reads = self.request.method in ("GET", "HEAD")  # type: ignore[attr-defined]
        return rules.knows_names(viewer) if reads else rules.staff(viewer)

    def get_serializer_context(self) -> dict[str, Any]:
        season = self.viewer.this_season  # type: ignore[attr-defined]
        numbers = {pk: lineup.number for pk, lineup in merged(EVENT_LIST.ask(season)).items()}
        return super().get_serializer_context() | {"numbers": numbers}  # type: ignore[misc, no-any-return]

    def saved(self, request: Request, event: Event) -> Event:
        """The event as the request wants it; what its form refuses is a problem."""
        changes = {k: v for k, v in read(ChangeSerializer, request).items() if k in request.data}
        known = model_to_dict(event) if event.pk else {"field_type": event.field_type}
        season = self.viewer.this_season  # type: ignore[attr-defined]
        form = EventForm(season, {**known, **changes}, instance=event)
        if not form.is_valid():
            refuse_form(form)
        actor = self.actor  # type: ignore[attr-defined]
        return save_event(actor=actor, event=form.instance)


class Events(OfEvents, Rows):
    """Events of the season, by day."""

    scope, write_scope = "events:read", "events:write"
    serializer_class, filterset_class = EventSerializer, EventFilter

    def rows(self) -> QuerySet[Event]:
        return queries.events(self.viewer.this_season)

    @extend_schema(
        request=ChangeSerializer,
        parameters=[ONCE],
        responses={
            201: EventSerializer,
            400: ProblemDetailsSerializer,
            409: ProblemDetailsSerializer,
        },
    )
    def post(self, request: Request) -> Response:
        """Add an event; for staff."""
        return once(request, self.actor, lambda: self._add(request))

    def _add(self, request: Request) -> Response:
        made = self.saved(request, Event(season=self.viewer.this_season))
        return Response(self.get_serializer(made).data, status=201)


class OneEvent(OfEvents, Row):
    """An event with its segments."""

    scope, write_scope = "events:read", "events:write"
    serializer_class = WholeEventSerializer

    def rows(self) -> QuerySet[Event]:
        return queries.events(self.viewer.this_season).prefetch_related("segments")

    @extend_schema(
        request=ChangeSerializer,
        responses={
            200: WholeEventSerializer,
            412: ProblemDetailsSerializer,
            428: ProblemDetailsSerializer,
        },
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Change it; for staff. ``If-Match`` names what was read."""
        with transaction.atomic():
            event = self.locked(pk)
            refuse_unseen(request, etag_of(self.said(event)))
            self.saved(request, event)
        return Response(self.said(self.row(pk)))
