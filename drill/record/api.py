"""Who really marched."""

from __future__ import annotations

from django.db.models import QuerySet
from rest_framework import serializers

from bandops.lib.api.resources import Filter, Rows, number_of
from drill.record.models import RecordEntry


class EntrySerializer(serializers.ModelSerializer[RecordEntry]):
    """One member in one segment of an event that is over."""

    name = serializers.CharField(source="member.name", read_only=True)
    event = serializers.IntegerField(source="segment.event_id", read_only=True)
    spot = serializers.SerializerMethodField()

    class Meta:
        model = RecordEntry
        fields = ["id", "event", "segment", "member", "name", "spot", "outcome"]

    def get_spot(self, entry: RecordEntry) -> str | None:
        return entry.spot.label if entry.spot is not None else None


class EntryFilter(Filter):
    """Of an event or a member, by outcome."""

    event = number_of("segment__event")

    class Meta:
        model = RecordEntry
        fields = ["member", "outcome"]


class Entries(Rows):
    """The marching record of the season, event by event."""

    scope, serializer_class, filterset_class = "record:read", EntrySerializer, EntryFilter

    def rows(self) -> QuerySet[RecordEntry]:
        entries = RecordEntry.objects.filter(record__event__season=self.viewer.this_season)
        entries = entries.select_related("segment", "member__person", "spot__rank")
        return entries.order_by("record__event__date", "record_id", "pk")
