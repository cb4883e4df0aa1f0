"""The practice log names the sets themselves, so that it holds in every version of a show."""

from django.apps.registry import Apps
from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor


def name_the_sets(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Link each entry to the sets it told by their orders in the version in use."""
    versions = apps.get_model("drill", "ShowVersion").objects.filter(for_event=None)
    in_use = dict(versions.order_by("order").values_list("show_id", "pk"))
    sets = apps.get_model("drill", "DrillSet").objects
    for entry in apps.get_model("drill", "PracticeEntry").objects.all():
        orders = (entry.first_set, entry.last_set)
        entry.sets.set(sets.filter(version=in_use.get(entry.show_id), order__range=orders))


def tell_the_log_apart(apps: Apps, schema_editor: BaseDatabaseSchemaEditor) -> None:
    """Keep of each figure what was told apart from the log."""
    rows = apps.get_model("drill", "Practice").objects.exclude(base=None)
    rows.filter(base=0).delete()
    rows.update(sets=models.F("base"))


class Migration(migrations.Migration):

    dependencies = [
        ('drill', '0004_chances'),
    ]

    operations = [
        migrations.AddField(
            model_name='practiceentry',
            name='sets',
            field=models.ManyToManyField(related_name='practised_in', to='drill.drillset'),
        ),
        migrations.RunPython(name_the_sets, migrations.RunPython.noop),
        migrations.RunPython(tell_the_log_apart, migrations.RunPython.noop),
    ]
