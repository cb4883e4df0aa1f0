"""Absences: who is out when, and reporting; never why."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django_filters import IsoDateTimeFilter
from drf_spectacular.utils import (
    OpenApiExample,
    extend_schema,
    extend_schema_serializer,
)
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from bandops.lib.api.problems import ProblemDetailsSerializer
from bandops.lib.api.resources import Filter, Row, Rows, read, refuse_form
from bandops.lib.api.writing import ONCE, once
from drill.absences import queries
from drill.absences.enums import AbsenceKind
from drill.absences.forms import StaffReportForm
from drill.absences.models import Absence
from drill.absences.services.absences import report_absence, withdraw_absence


class AbsenceSerializer(serializers.ModelSerializer[Absence]):
    """An entry. Categories and review dates are not in the API."""

    name = serializers.CharField(source="member.name", read_only=True)
    kind = serializers.CharField(read_only=True, help_text=", ".join(AbsenceKind.values))

    class Meta:
        model = Absence
        fields = [
            "id",
            "member",
            "name",
            "kind",
            "event",
            "segment",
            "from_date",
            "until_date",
            "late_until",
            "leaves_at",
            "state",
            "created_at",
        ]


@extend_schema_serializer(
    examples=[
        OpenApiExample("Out of one event", value={"member": 17, "kind": "out", "event": 4}),
        OpenApiExample(
            "Late until", value={"member": 17, "kind": "late", "event": 4, "late_until": "17:30"}
        ),
    ]
)
class NewAbsenceSerializer(serializers.Serializer[dict[str, Any]]):
    """A report: of an event, one segment of it, or days. It counts as confirmed."""

    member = serializers.IntegerField(min_value=1, max_value=2**31)
    kind = serializers.CharField(max_length=10)
    event = serializers.IntegerField(min_value=1, max_value=2**31, required=False)
    segment = serializers.IntegerField(min_value=1, max_value=2**31, required=False)
    from_date = serializers.DateField(required=False)
    until_date = serializers.DateField(required=False)
    late_until = serializers.TimeField(required=False)
    leaves_at = serializers.TimeField(required=False)


class AbsenceFilter(Filter):
    """By member, event, state or kind, and what came since a moment."""

    since = IsoDateTimeFilter(field_name="created_at", lookup_expr="gte")

    class Meta:
        model = Absence
        fields = ["member", "event", "state", "kind"]


class Absences(Rows):
    """Entries of the season, the newest first."""

    scope, write_scope = "absences:read", "absences:write"
    serializer_class, filterset_class = AbsenceSerializer, AbsenceFilter

    def rows(self) -> QuerySet[Absence]:
        return queries.absences(self.viewer.this_season)

    @extend_schema(
        request=NewAbsenceSerializer,
        parameters=[ONCE],
        responses={
            201: AbsenceSerializer,
            400: ProblemDetailsSerializer,
            409: ProblemDetailsSerializer,
        },
    )
    def post(self, request: Request) -> Response:
        """Report an absence."""
        return once(request, self.actor, lambda: self._report(request))

    def _report(self, request: Request) -> Response:
        form = StaffReportForm(self.viewer.this_season, read(NewAbsenceSerializer, request))
        if not form.is_valid():
            refuse_form(form)
        report = form.report(form.cleaned_data["member"])
        made = report_absence(actor=self.actor, report=report, by_staff=True)
        return Response(self.get_serializer(self.rows().get(pk=made.pk)).data, status=201)


class OneAbsence(Row):
    """An entry."""

    scope, serializer_class = "absences:read", AbsenceSerializer

    def rows(self) -> QuerySet[Absence]:
        return queries.absences(self.viewer.this_season)


class Withdraw(Row):
    """Taking an entry back; it stays in the history."""

    scope = write_scope = "absences:write"
    serializer_class = AbsenceSerializer
    http_method_names = ["post"]

    def rows(self) -> QuerySet[Absence]:
        return queries.absences(self.viewer.this_season)

    @extend_schema(
        request=None,
        parameters=[ONCE],
        responses={200: AbsenceSerializer, 409: ProblemDetailsSerializer},
    )
    def post(self, request: Request, pk: int) -> Response:
        """Withdraw it."""
        absence = self.row(pk)
        return once(request, self.actor, lambda: self._withdraw(absence))

    def _withdraw(self, absence: Absence) -> Response:
        withdraw_absence(actor=self.actor, absence=absence)
        return Response(self.said(self.row(absence.pk)))
