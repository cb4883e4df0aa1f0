"""Rehearsals' blocks, and who was there."""

from __future__ import annotations

import uuid
from typing import Any

from django.db.models import QuerySet
from django_filters import IsoDateTimeFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from bandops.lib.api.problems import ProblemDetailsSerializer
from bandops.lib.api.resources import Filter, Rows, read
from bandops.lib.api.writing import ONCE, once
from bandops.lib.errors import Refused
from drill.events.models import Event
from drill.rehearsals.enums import AttendanceState
from drill.rehearsals.models import Attendance, RehearsalBlock
from drill.rehearsals.services.attendance import rank_at
from drill.rehearsals.services.attendance_notes import note_attendance
from roster.people.models import Member

STATES = ", ".join(AttendanceState.values)


class BlockSerializer(serializers.ModelSerializer[RehearsalBlock]):
    """A stretch of a rehearsal; times are the event's own."""

    class Meta:
        model = RehearsalBlock
        fields = ["id", "event", "starts", "ends", "what", "where", "show"]


class BlockFilter(Filter):
    """Of a rehearsal or a show."""

    class Meta:
        model = RehearsalBlock
        fields = ["event", "show"]


class Blocks(Rows):
    """The season's rehearsals, block by block."""

    scope, serializer_class = "rehearsals:read", BlockSerializer
    filterset_class = BlockFilter

    def rows(self) -> QuerySet[RehearsalBlock]:
        found = RehearsalBlock.objects.filter(event__season=self.viewer.this_season)
        return found.order_by("event__date", "event_id", "starts", "pk")


class NoteSerializer(serializers.ModelSerializer[Attendance]):
    """What one person noted of one member; of each noter the latest counts, and one that
    ``settles`` before all others."""

    name = serializers.CharField(source="member.name", read_only=True)
    state = serializers.CharField(read_only=True, help_text=STATES)
    noted_by = serializers.CharField(source="noted_by.name", default="", read_only=True)

    class Meta:
        model = Attendance
        fields = [
            "id",
            "event",
            "member",
            "name",
            "state",
            "settles",
            "noted_by",
            "noted_at",
            "received_at",
        ]


@extend_schema_serializer(
    examples=[OpenApiExample("Here", value={"event": 4, "member": 17, "state": "present"})]
)
class NewNoteSerializer(serializers.Serializer[dict[str, Any]]):
    """A note; ``noted_at`` where it was made earlier than it is sent."""

    event = serializers.IntegerField(min_value=1, max_value=2**31)
    member = serializers.IntegerField(min_value=1, max_value=2**31)
    state = serializers.ChoiceField(choices=AttendanceState.choices, help_text=STATES)
    noted_at = serializers.DateTimeField(required=False)


class NoteFilter(Filter):
    """Of an event or a member, by state, and what came since a moment."""

    since = IsoDateTimeFilter(field_name="received_at", lookup_expr="gte", help_text="received")

    class Meta:
        model = Attendance
        fields = ["event", "member", "state"]


class Notes(Rows):
    """Notes of the season's rehearsals and performances, in the order they came."""

    scope, write_scope = "rehearsals:read", "rehearsals:write"
    serializer_class, filterset_class = NoteSerializer, NoteFilter

    def rows(self) -> QuerySet[Attendance]:
        found = Attendance.objects.filter(event__season=self.viewer.this_season)
        return found.select_related("member__person", "noted_by").order_by("pk")

    @extend_schema(
        request=NewNoteSerializer,
        parameters=[ONCE],
        responses={
            201: NoteSerializer,
            400: ProblemDetailsSerializer,
            409: ProblemDetailsSerializer,
        },
    )
    def post(self, request: Request) -> Response:
        """Note who is there."""
        return once(request, self.actor, lambda: self._note(request))

    def _note(self, request: Request) -> Response:
        told, season = read(NewNoteSerializer, request), self.viewer.this_season
        event = Event.objects.filter(season=season, pk=told["event"]).first()
        member = Member.objects.filter(season=season, pk=told["member"]).first()
        if event is None or member is None:
            nothing = "event" if event is None else "member"
            raise serializers.ValidationError({nothing: ["There is none of that number."]})
        if rank_at(event, member) is None:
            raise Refused(f"{member} was in no rank that day.")
        made = note_attendance(
            actor=self.actor,
            event=event,
            member=member,
            state=told["state"],
            key=uuid.uuid4(),
            noted_at=told.get("noted_at"),
        )
        return Response(self.get_serializer(self.rows().get(pk=made.pk)).data, status=201)
