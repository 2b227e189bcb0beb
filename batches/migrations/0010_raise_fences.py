from django.db import connections, migrations

from batches.fences import raise_fences


def up(apps, schema_editor):
    """Raise the triggers of every append-only table that is there by now."""
    raise_fences(connections[schema_editor.connection.alias])


class Migration(migrations.Migration):
    dependencies = [
        ("batches", "0009_add_roles"),
    ]

    operations = [
        migrations.RunPython(up, migrations.RunPython.noop),
    ]
