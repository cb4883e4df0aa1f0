"""Shows, their sets, and where every dot stands."""

from __future__ import annotations

from django.db.models import QuerySet
from django_filters import CharFilter
from rest_framework import serializers

from bandops.lib.api.resources import Filter, Rows, number_of
from drill.shows.models import DrillSet, Position, Show


class ShowSerializer(serializers.ModelSerializer[Show]):
    """A show; ``versions`` are the numbers of its versions, in order."""

    versions = serializers.SerializerMethodField()

    class Meta:
        model = Show
        fields = ["id", "name", "field_type", "versions"]

    def get_versions(self, show: Show) -> list[int]:
        return [v.pk for v in sorted(show.versions.all(), key=lambda v: v.order)]


class Shows(Rows):
    """Shows of the season."""

    scope, serializer_class = "drill:read", ShowSerializer

    def rows(self) -> QuerySet[Show]:
        shows = Show.objects.filter(season=self.viewer.this_season)
        return shows.prefetch_related("versions").order_by("name", "pk")


class SetSerializer(serializers.ModelSerializer[DrillSet]):
    """A set of a version."""

    class Meta:
        model = DrillSet
        fields = ["id", "version", "order", "label", "counts", "is_subset", "tempo"]


class SetFilter(Filter):
    """Of a show or a version."""

    show = number_of("version__show")

    class Meta:
        model = DrillSet
        fields = ["version"]


class Sets(Rows):
    """Sets, version by version, in order."""

    scope, serializer_class, filterset_class = "drill:read", SetSerializer, SetFilter

    def rows(self) -> QuerySet[DrillSet]:
        sets = DrillSet.objects.filter(version__show__season=self.viewer.this_season)
        return sets.order_by("version_id", "order", "pk")


class CoordinateSerializer(serializers.ModelSerializer[Position]):
    """Where a dot stands in a set: ``x`` from the middle of the field towards side 2, ``y`` from
    the front sideline, both in 1/32 inch (720 to a step)."""

    dot = serializers.CharField(source="dot.label", read_only=True)

    class Meta:
        model = Position
        fields = ["set", "dot", "x", "y"]


class CoordinateFilter(Filter):
    """Of a version, a set or a dot (its label)."""

    version = number_of("set__version")
    dot = CharFilter(field_name="dot__label")

    class Meta:
        model = Position
        fields = ["set"]


class Coordinates(Rows):
    """Coordinates, set by set."""

    scope, serializer_class, filterset_class = (
        "drill:read",
        CoordinateSerializer,
        CoordinateFilter,
    )

    def rows(self) -> QuerySet[Position]:
        places = Position.objects.filter(set__version__show__season=self.viewer.this_season)
        return places.select_related("dot").order_by("set__version_id", "set__order", "dot_id")
