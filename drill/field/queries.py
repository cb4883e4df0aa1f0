"""A season's fields and how it writes coordinates."""

from __future__ import annotations

from drill.field.core.field import FIELD_TYPES, FieldType
from drill.field.models import CustomField, DrillSettings
from roster.people.models import Season


def field_types(season: Season) -> dict[str, FieldType]:
    """Name -> field: the published ones, then the band's own."""
    own = {
        f.name: FieldType(f.name, f.front_hash, f.back_hash)
        for f in CustomField.objects.filter(season=season)
    }
    return FIELD_TYPES | own


def field_of(season: Season, name: str) -> FieldType:
    """A field by its name; the first published one where the name is gone."""
    return field_types(season).get(name, FIELD_TYPES["60 ft"])


def drill_settings(season: Season) -> DrillSettings:
    """How the season writes and checks drill; the usual way while staff have set nothing."""
    return DrillSettings.objects.filter(season=season).first() or DrillSettings(season=season)
