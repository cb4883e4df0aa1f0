"""Reading published lineups, and solving posted problems without saving."""

from __future__ import annotations

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.permissions import BasePermission
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import UserRateThrottle
from rest_framework.views import APIView

from bandops.lib.accounts.viewer import viewer
from bandops.lib.web import rules
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.lineup import queries
from drill.lineup.api.problems import (
    LineupSerializer,
    ProblemParser,
    ProblemSerializer,
    answer_of,
    problem_of,
)
from drill.lineup.core.solver import ContradictoryPins, Limits, NoLineup, OutOfWork, solve
from drill.lineup.rules import reads_lineups

LIMITS = Limits(deterministic_work=4.0)


class ReadsLineups(BasePermission):
    """Whoever may read published lineups."""

    def has_permission(self, request: Request, view: Any) -> bool:
        return reads_lineups(viewer(request._request))


class IsStaff(BasePermission):
    """Staff and directors."""

    def has_permission(self, request: Request, view: Any) -> bool:
        return rules.staff(viewer(request._request))


class SolveThrottle(UserRateThrottle):
    scope = "solve"


class PrivateView(APIView):
    """Its answers are for one account: nothing on the way keeps them."""

    def finalize_response(
        self, request: Request, response: Any, *args: Any, **kwargs: Any
    ) -> Response:
        made: Response = super().finalize_response(request, response, *args, **kwargs)
        made["Cache-Control"] = "private, no-store"
        return made


class EventSerializer(serializers.Serializer[dict[str, Any]]):
    id = serializers.IntegerField()
    name = serializers.CharField()
    date = serializers.DateField()
    kind = serializers.CharField()
    revision = serializers.IntegerField(allow_null=True)


class SeatSerializer(serializers.Serializer[dict[str, Any]]):
    segment = serializers.CharField()
    rank = serializers.CharField()
    spot = serializers.CharField()
    part = serializers.CharField()
    member = serializers.CharField(allow_null=True)


class RevisionSerializer(serializers.Serializer[dict[str, Any]]):
    event = serializers.CharField()
    revision = serializers.IntegerField()
    published_at = serializers.DateTimeField()
    seats = SeatSerializer(many=True)


class ErrorSerializer(serializers.Serializer[dict[str, Any]]):
    detail = serializers.CharField()


class EventList(PrivateView):
    """Events of the season."""

    permission_classes = [ReadsLineups]

    @extend_schema(responses=EventSerializer(many=True))
    def get(self, request: Request) -> Response:
        season = viewer(request._request).this_season
        numbers = {x.event_id: x.number for x in queries.latest_numbers(season)}
        rows: Any = [
            {
                "id": e.pk,
                "name": e.name,
                "date": e.date,
                "kind": e.kind,
                "revision": numbers.get(e.pk),
            }
            for e in event_queries.events(season)
        ]
        return Response(EventSerializer(rows, many=True).data)


class PublishedLineup(PrivateView):
    """The newest published lineup of an event: names and spots, never a reason."""

    permission_classes = [ReadsLineups]

    @extend_schema(responses={200: RevisionSerializer, 404: ErrorSerializer})
    def get(self, request: Request, pk: int) -> Response:
        season = viewer(request._request).this_season
        event = get_object_or_404(Event, pk=pk, season=season)
        lineup = queries.published(event)
        if lineup is None:
            return Response({"detail": "Nothing is published."}, status=status.HTTP_404_NOT_FOUND)
        seats = [
            {
                "segment": r.segment.name,
                "rank": r.spot.rank.label,
                "spot": r.spot.label,
                "part": r.spot.part.name,
                "member": r.member.name if r.member else None,
            }
            for r in queries.rows(lineup)
        ]
        data = {
            "event": event.name,
            "revision": lineup.number,
            "published_at": lineup.published_at,
            "seats": seats,
        }
        return Response(RevisionSerializer(data).data)


class Solve(PrivateView):
    """Solve a posted problem; nothing is saved."""

    permission_classes = [IsStaff]
    throttle_classes = [SolveThrottle]
    parser_classes = [ProblemParser]

    @extend_schema(
        request=ProblemSerializer, responses={200: LineupSerializer, 422: ErrorSerializer}
    )
    def post(self, request: Request) -> Response:
        form = ProblemSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        try:
            answer = solve(problem_of(form.validated_data), limits=LIMITS)
        except (ContradictoryPins, NoLineup, OutOfWork) as error:
            return Response({"detail": str(error)}, status=status.HTTP_422_UNPROCESSABLE_ENTITY)
        return Response(LineupSerializer(answer_of(answer)).data)
