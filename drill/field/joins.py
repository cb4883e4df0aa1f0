"""What fields add to the next season: how coordinates are written, and fields of one's own."""

from __future__ import annotations

from drill.field.models import CustomField, DrillSettings
from roster.people.services.next_season import Carried, copies
from roster.people.ties import CARRY_OVER


@CARRY_OVER.join
def copy_fields(carried: Carried) -> None:
    copies(DrillSettings.objects.filter(season=carried.old), season=carried.new)
    copies(CustomField.objects.filter(season=carried.old), season=carried.new)
