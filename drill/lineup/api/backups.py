"""Named backups."""

from __future__ import annotations

from django.db.models import QuerySet
from rest_framework import serializers

from bandops.lib.api.resources import Filter, Rows
from drill.lineup import queries
from drill.lineup.models import Backup


class BackupSerializer(serializers.ModelSerializer[Backup]):
    """A member named in readiness for a spot; ``order`` 1 is asked first."""

    label = serializers.CharField(  # type: ignore[assignment]
        source="spot.label", read_only=True
    )
    name = serializers.CharField(source="member.name", read_only=True)

    class Meta:
        model = Backup
        fields = ["id", "spot", "label", "member", "name", "order"]


class BackupFilter(Filter):
    """Of a spot or a member."""

    class Meta:
        model = Backup
        fields = ["spot", "member"]


class Backups(Rows):
    """Backups of the season, spot by spot."""

    scope, serializer_class, filterset_class = "lineups:read", BackupSerializer, BackupFilter

    def rows(self) -> QuerySet[Backup]:
        return queries.backups(self.viewer.this_season)
