"""A published lineup keeps which places its spots march."""

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def keep_the_places(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Until now places were read as they are."""
    places: dict[str, dict[str, str]] = {}
    maps = apps.get_model("drill", "PlaceMap").objects
    for show, spot, label in maps.values_list("show_id", "spot_id", "place__label"):
        places.setdefault(str(show), {})[str(spot)] = label
    lineups = apps.get_model("drill", "Lineup").objects
    for lineup in lineups.filter(state="published").only("pk", "show_versions"):
        kept = {show: places[show] for show in lineup.show_versions if show in places}
        if kept:
            lineups.filter(pk=lineup.pk).update(places=kept)


class Migration(migrations.Migration):

    dependencies = [
        ('drill', '0006_practised_sets_only'),
    ]

    operations = [
        migrations.AddField(
            model_name='lineup',
            name='places',
            field=models.JSONField(default=dict, verbose_name='places of the spots, by show'),
        ),
        migrations.RunPython(keep_the_places, migrations.RunPython.noop),
    ]
