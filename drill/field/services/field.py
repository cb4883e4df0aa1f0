"""How a season writes coordinates, and the fields it adds to the published ones."""

from __future__ import annotations

from collections import defaultdict

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.field.core.field import FIELD_TYPES
from drill.field.models import CustomField, DrillSettings
from drill.field.ties import FIELD_RENAMED, FIELD_USERS
from roster.people.models import Season


def save_writing(
    *, actor: User, season: Season, seen_from: str, precision: str, depth: str
) -> DrillSettings:
    """Choose whose sides are named, how finely coordinates are written, and how depth is shown."""
    settings = DrillSettings.objects.filter(season=season).first() or DrillSettings(season=season)
    settings.seen_from, settings.precision, settings.depth = seen_from, precision, depth
    settings.full_clean()
    with recorded(actor, "change how coordinates are written"):
        saved, _ = DrillSettings.objects.update_or_create(
            season=season,
            defaults={"seen_from": seen_from, "precision": precision, "depth": depth},
        )
    return saved


def save_custom_field(*, actor: User, field: CustomField) -> CustomField:
    """Add a field or change one; events and shows on it keep it under a new name."""
    others = CustomField.objects.filter(season=field.season_id).exclude(pk=field.pk)
    if field.name in FIELD_TYPES or others.filter(name=field.name).exists():
        raise Refused(f"There is already a field named {field.name}.")
    field.full_clean()
    with recorded(actor, "save field"):
        before = CustomField.objects.select_for_update().filter(pk=field.pk).first()
        field.save()
        if before is not None and before.name != field.name:
            FIELD_RENAMED.ask(field.season_id, before.name, field.name)
    return field


def remove_custom_field(*, actor: User, field: CustomField) -> None:
    """Remove a field that no event and no show is on."""
    with recorded(actor, "remove field"):
        CustomField.objects.select_for_update().get(pk=field.pk)
        used = users_of(field.season).get(field.name)
        if used:
            raise Refused(f"{field} stays: it is the field of {', '.join(used)}.")
        field.delete()


def users_of(season: Season) -> dict[str, list[str]]:
    """Name of a field -> the events and shows that are on it (a query for each kind)."""
    found: dict[str, list[str]] = defaultdict(list)
    for answer in FIELD_USERS.ask(season):
        for name, users in answer.items():
            found[name] += users
    return found
