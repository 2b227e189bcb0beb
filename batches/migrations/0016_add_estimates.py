import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("batches", "0015_know_where_lots_came_from"),
    ]

    operations = [
        migrations.CreateModel(
            name="Estimate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                (
                    "entry_id",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                ("calculator", models.CharField(max_length=40)),
                ("title", models.CharField(max_length=120)),
                ("query", models.TextField()),
                ("inputs", models.JSONField()),
                ("result", models.JSONField()),
                ("version", models.CharField(max_length=40)),
                ("recorded_at", models.DateTimeField()),
                ("by_name", models.CharField(max_length=120)),
                (
                    "batch",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="estimates",
                        to="batches.batch",
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="batches.member",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "base_manager_name": "objects",
            },
        ),
    ]
