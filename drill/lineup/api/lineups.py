"""Reading published lineups, and solving posted problems without saving."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import UserRateThrottle

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.api.problems import Problem, ProblemDetailsSerializer
from bandops.lib.api.resources import PrivateView
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


class SolveThrottle(UserRateThrottle):
    scope = "solve"


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


class PublishedLineup(PrivateView):
    """The newest published lineup of an event: names and spots, never a reason."""

    scope = "lineups:read"

    def may(self, viewer: Viewer) -> bool:
        return reads_lineups(viewer)

    @extend_schema(responses={200: RevisionSerializer, 404: ProblemDetailsSerializer})
    def get(self, request: Request, pk: int) -> Response:
        if pk >= 2**63:
            raise Http404
        event = get_object_or_404(Event, pk=pk, season=self.viewer.this_season)
        lineup = queries.published(event)
        if lineup is None:
            raise NotFound("Nothing is published.")
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

    scope = "lineups:solve"
    throttle_classes = [SolveThrottle]
    parser_classes = [ProblemParser]

    @extend_schema(
        request=ProblemSerializer, responses={200: LineupSerializer, 422: ProblemDetailsSerializer}
    )
    def post(self, request: Request) -> Response:
        form = ProblemSerializer(data=request.data)
        form.is_valid(raise_exception=True)
        try:
            answer = solve(problem_of(form.validated_data), limits=LIMITS)
        except (ContradictoryPins, NoLineup, OutOfWork) as error:
            raise Problem(422, "no-lineup", str(error)) from error
        return Response(LineupSerializer(answer_of(answer)).data)
