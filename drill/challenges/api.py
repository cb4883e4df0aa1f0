"""Challenges: who tries for which spot, and how it ended; never marks or figures."""

from __future__ import annotations

from django.db.models import QuerySet
from rest_framework import serializers

from bandops.lib.api.resources import Filter, Rows
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeRound


class RoundSerializer(serializers.ModelSerializer[ChallengeRound]):
    """One week's challenges; a win counts from the event ``effective``."""

    class Meta:
        model = ChallengeRound
        fields = ["id", "name", "opens_at", "closes_at", "held_at", "effective"]


class ChallengeSerializer(serializers.ModelSerializer[Challenge]):
    """One challenger for one spot."""

    spot = serializers.CharField(source="spot.label", read_only=True)
    challenger_name = serializers.CharField(source="challenger.name", read_only=True)
    holder_name = serializers.CharField(source="holder.name", read_only=True)
    state = serializers.CharField(read_only=True, help_text=", ".join(ChallengeState.values))

    class Meta:
        model = Challenge
        fields = [
            "id",
            "round",
            "spot",
            "challenger",
            "challenger_name",
            "holder",
            "holder_name",
            "state",
            "asked_at",
            "decided_at",
        ]


class ChallengeFilter(Filter):
    """Of a round or a person, or by how it ended."""

    class Meta:
        model = Challenge
        fields = ["round", "challenger", "holder", "state"]


class Rounds(Rows):
    """The season's rounds, the latest first."""

    scope, serializer_class = "challenges:read", RoundSerializer

    def rows(self) -> QuerySet[ChallengeRound]:
        return ChallengeRound.objects.filter(season=self.viewer.this_season)


class Challenges(Rows):
    """The season's challenges, round by round."""

    scope, serializer_class = "challenges:read", ChallengeSerializer
    filterset_class = ChallengeFilter

    def rows(self) -> QuerySet[Challenge]:
        found = Challenge.objects.filter(round__season=self.viewer.this_season)
        found = found.select_related("spot__rank", "challenger__person", "holder__person")
        return found.order_by("-round__held_at", "-round_id", "pk")
