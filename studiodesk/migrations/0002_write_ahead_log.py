from django.db import migrations


def switch_to_the_write_ahead_log(apps, schema_editor):
    """Readers and the one writer no longer wait for each other.

    The mode is kept in the file, so it is switched here once: doing it at every opening makes openings fail.
    """
    connection = schema_editor.connection
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA journal_mode=WAL")


class Migration(migrations.Migration):
    # The mode cannot be switched inside a transaction.
    atomic = False
    dependencies = [("studiodesk", "0001_the_house")]
    operations = [migrations.RunPython(switch_to_the_write_ahead_log, migrations.RunPython.noop)]
