"""Ranks, spots with who holds them, alternates."""

from __future__ import annotations

from django.db.models import QuerySet
from django_filters import CharFilter
from rest_framework import serializers

from bandops.lib.api.resources import Filter, Rows
from roster.ranks import queries
from roster.ranks.models import AlternatePlace, Rank, Spot


class RankSerializer(serializers.ModelSerializer[Rank]):
    """A rank; its leaders are members' numbers."""

    class Meta:
        model = Rank
        fields = ["id", "label", "order", "leader", "assistant_leader"]


class Ranks(Rows):
    """Ranks of the season, in order."""

    scope, serializer_class = "ranks:read", RankSerializer

    def rows(self) -> QuerySet[Rank]:
        return queries.ranks(self.viewer.this_season)


class SpotSerializer(serializers.ModelSerializer[Spot]):
    """A spot; ``holder`` is the member who holds it today."""

    label = serializers.CharField(read_only=True)  # type: ignore[assignment]
    rank = serializers.CharField(source="rank.label", read_only=True)
    part = serializers.CharField(source="part.code", read_only=True)
    holder = serializers.SerializerMethodField()

    class Meta:
        model = Spot
        fields = ["id", "label", "rank", "number", "part", "weight", "needs_experience", "holder"]

    def get_holder(self, spot: Spot) -> int | None:
        held = spot.open_holdings  # type: ignore[attr-defined]
        return held[0].member_id if held else None


class SpotFilter(Filter):
    """By rank (its label) or part (its code)."""

    rank = CharFilter(field_name="rank__label")
    part = CharFilter(field_name="part__code")

    class Meta:
        model = Spot
        fields: list[str] = []


class Spots(Rows):
    """Spots of the season, rank by rank."""

    scope, serializer_class, filterset_class = "ranks:read", SpotSerializer, SpotFilter

    def rows(self) -> QuerySet[Spot]:
        return queries.spots_with_holders(self.viewer.this_season)


class AlternateSerializer(serializers.ModelSerializer[AlternatePlace]):
    """An alternate with their standing."""

    name = serializers.CharField(source="member.name", read_only=True)
    rank = serializers.CharField(source="rank.label", read_only=True)
    part = serializers.CharField(source="part.code", read_only=True)

    class Meta:
        model = AlternatePlace
        fields = ["id", "member", "name", "rank", "part", "standing"]


class Alternates(Rows):
    """Alternates of the season, in their standing."""

    scope, serializer_class = "ranks:read", AlternateSerializer

    def rows(self) -> QuerySet[AlternatePlace]:
        return queries.alternates(self.viewer.this_season)
