"""Travel lists, traveller by traveller."""

from __future__ import annotations

from django.db.models import QuerySet
from django_filters import CharFilter
from rest_framework import serializers

from bandops.lib.api.resources import Filter, Rows, number_of
from drill.events.enums import TravelRole, TravelState
from drill.events.models import Traveller


class TravellerSerializer(serializers.ModelSerializer[Traveller]):
    """Somebody on an event's list; ``state`` is the list's: a draft, or posted."""

    event = serializers.IntegerField(source="list.event_id", read_only=True)
    state = serializers.CharField(
        source="list.state", read_only=True, help_text=", ".join(TravelState.values)
    )
    name = serializers.CharField(source="member.name", read_only=True)
    role = serializers.CharField(read_only=True, help_text=", ".join(TravelRole.values))

    class Meta:
        model = Traveller
        fields = ["id", "event", "state", "member", "name", "role"]


class TravellerFilter(Filter):
    """Of an event or a member, by role, or of posted lists alone."""

    event = number_of("list__event")
    state = CharFilter(field_name="list__state")

    class Meta:
        model = Traveller
        fields = ["member", "role"]


class Travellers(Rows):
    """Whoever is on the season's travel lists, event by event."""

    scope, serializer_class = "travel:read", TravellerSerializer
    filterset_class = TravellerFilter

    def rows(self) -> QuerySet[Traveller]:
        found = Traveller.objects.filter(list__event__season=self.viewer.this_season)
        return found.select_related("list", "member__person").order_by(
            "list__event__date", "list_id", "pk"
        )
