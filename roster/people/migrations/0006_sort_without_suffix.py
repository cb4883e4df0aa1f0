from django.db import migrations

from bandops.lib.person_names import sort_key


def sort_without_suffix(apps, schema_editor):
    """Jr. and III were taken for last names."""
    people = apps.get_model("people", "Person").objects
    for person in people.only("used_name", "legal_name", "sort_key").iterator():
        key = sort_key(person.used_name or person.legal_name)[:250]
        if key != person.sort_key:
            people.filter(pk=person.pk).update(sort_key=key)


class Migration(migrations.Migration):

    dependencies = [
        ('people', '0005_pools_and_deputies'),
    ]

    operations = [
        migrations.RunPython(sort_without_suffix, migrations.RunPython.noop),
    ]
