"""Members and parts."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django_filters import CharFilter
from drf_spectacular.utils import OpenApiExample, extend_schema, extend_schema_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from bandops.lib.api.problems import ProblemDetailsSerializer
from bandops.lib.api.resources import Filter, Row, Rows, etag_of, read
from bandops.lib.api.writing import refuse_unseen
from roster.people import queries
from roster.people.models import Member, Part, Season
from roster.people.services.people import change_member

PHONE = "555-0134"


@extend_schema_serializer(
    examples=[
        OpenApiExample(
            "A member",
            value={
                "id": 17,
                "name": "Ana Nightjar",
                "legal_name": "Ana Nightjar",
                "used_name": "",
                "pronouns": "she/her",
                "email": "ana@example.invalid",
                "student_number": "S-1001",
                "phone": PHONE,
                "status": "active",
                "years_marched": 2,
                "parts": ["Trumpet 1", "Mellophone"],
            },
            response_only=True,
        )
    ]
)
class MemberSerializer(serializers.ModelSerializer[Member]):
    """A member; clearance, eligibility and emergency contacts are not in the API."""

    name = serializers.CharField(read_only=True)
    legal_name = serializers.CharField(source="person.legal_name", read_only=True)
    used_name = serializers.CharField(source="person.used_name", read_only=True)
    pronouns = serializers.CharField(source="person.pronouns", read_only=True)
    email = serializers.CharField(source="person.email", read_only=True)
    student_number = serializers.CharField(source="person.student_number", read_only=True)
    parts = serializers.SerializerMethodField(help_text="the main one first")

    class Meta:
        model = Member
        fields = [
            "id",
            "name",
            "legal_name",
            "used_name",
            "pronouns",
            "email",
            "student_number",
            "phone",
            "status",
            "years_marched",
            "parts",
        ]

    def get_parts(self, member: Member) -> list[str]:
        skills = sorted(member.skills, key=lambda q: (not q.main, q.pk))  # type: ignore[attr-defined]
        return [str(skill.part) for skill in skills]


class ContactSerializer(serializers.Serializer[dict[str, Any]]):
    """What may be changed of a member; what is not sent stays."""

    used_name = serializers.CharField(max_length=200, allow_blank=True, required=False)
    pronouns = serializers.CharField(max_length=50, allow_blank=True, required=False)
    email = serializers.EmailField(allow_blank=True, required=False)
    phone = serializers.CharField(max_length=40, allow_blank=True, required=False)


class MemberFilter(Filter):
    """By status, part (its code) or student number."""

    part = CharFilter(field_name="parts__code", distinct=True)
    student_number = CharFilter(field_name="person__student_number")

    class Meta:
        model = Member
        fields = ["status"]


class Members(Rows):
    """Members of the season."""

    scope, serializer_class, filterset_class = "people:read", MemberSerializer, MemberFilter

    def rows(self) -> QuerySet[Member]:
        return queries.members(self.viewer.this_season)


class OneMember(Row):
    """A member, and changing their contacts."""

    scope, write_scope, serializer_class = "people:read", "people:write", MemberSerializer

    def rows(self) -> QuerySet[Member]:
        return queries.members(self.viewer.this_season)

    @extend_schema(
        request=ContactSerializer,
        responses={
            200: MemberSerializer,
            412: ProblemDetailsSerializer,
            428: ProblemDetailsSerializer,
        },
    )
    def patch(self, request: Request, pk: int) -> Response:
        """Change contacts; ``If-Match`` names what was read."""
        values = dict(read(ContactSerializer, request))
        own = {name: values.pop(name) for name in ("phone",) if name in values}
        with transaction.atomic():
            member = self.locked(pk)
            refuse_unseen(request, etag_of(self.said(member)))
            change_member(actor=self.actor, member=member, person_values=values, values=own)
        return Response(self.said(self.row(pk)))


class SeasonSerializer(serializers.ModelSerializer[Season]):
    """A season's choices."""

    class Meta:
        model = Season
        fields = [
            "id",
            "name",
            "band_name",
            "starts",
            "ends",
            "is_current",
            "time_zone",
            "paper",
            "alternates_by",
            "doubtful_out_from",
            "use_weights",
            "fairness_before_standing",
        ]


class Seasons(Rows):
    """All seasons, the latest first; every other resource is of the current one."""

    scope, serializer_class = "people:read", SeasonSerializer

    def rows(self) -> QuerySet[Season]:
        return Season.objects.order_by("-starts", "-pk")


class PartSerializer(serializers.ModelSerializer[Part]):
    """A part of an instrument."""

    instrument = serializers.CharField(source="instrument.name", read_only=True)

    class Meta:
        model = Part
        fields = ["id", "code", "name", "instrument"]


class Parts(Rows):
    """Instruments' parts, in the band's order."""

    scope, serializer_class = "people:read", PartSerializer

    def rows(self) -> QuerySet[Part]:
        return queries.parts(self.viewer.this_season)
