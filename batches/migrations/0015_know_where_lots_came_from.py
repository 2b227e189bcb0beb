import uuid

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("batches", "0014_keep_what_was_on_paper"),
    ]

    operations = [
        migrations.CreateModel(
            name="LotHandling",
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
                ("recorded_at", models.DateTimeField()),
                ("by_name", models.CharField(max_length=120)),
                ("reason", models.TextField(blank=True)),
                ("withdrawn", models.BooleanField(default=False)),
                (
                    "entry_id",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                ("occurred_at", models.DateTimeField()),
                ("note", models.TextField(blank=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("frozen", "Put into the freezer"),
                            ("thaw-begun", "Thawing began"),
                            ("thaw-ended", "Thawing ended"),
                            ("trimmed", "Trimmed off"),
                            ("discarded", "Thrown away"),
                            ("weighed", "Weighed: what is left"),
                        ],
                        max_length=12,
                    ),
                ),
                ("mass_kg", models.CharField(blank=True, max_length=24, null=True)),
                ("place", models.CharField(blank=True, max_length=60)),
                ("temperature", models.CharField(blank=True, max_length=24, null=True)),
                ("unit", models.CharField(blank=True, max_length=8)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="batches.member",
                    ),
                ),
                (
                    "corrects",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrections",
                        to="batches.lothandling",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="handlings",
                        to="batches.lot",
                    ),
                ),
                (
                    "premises",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="batches.premises",
                    ),
                ),
                (
                    "producer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)ss",
                        to="batches.producer",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "base_manager_name": "objects",
                "constraints": [
                    models.UniqueConstraint(
                        fields=("corrects",), name="lothandling_corrected_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("corrects__isnull", True), ("withdrawn", False)),
                            models.Q(
                                ("corrects__isnull", False),
                                models.Q(("reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="lothandling_correction_has_reason",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="LotOrigin",
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
                ("recorded_at", models.DateTimeField()),
                ("by_name", models.CharField(max_length=120)),
                ("reason", models.TextField(blank=True)),
                ("withdrawn", models.BooleanField(default=False)),
                (
                    "entry_id",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                ("occurred_at", models.DateTimeField()),
                ("note", models.TextField(blank=True)),
                (
                    "way",
                    models.CharField(
                        choices=[
                            (
                                "shipped",
                                "From somebody who sent a traceability lot code with it",
                            ),
                            (
                                "exempt",
                                "From somebody who need not give a code, and gave none",
                            ),
                            ("landed", "Straight from a fishing vessel"),
                            ("farmed", "Straight from a fish farm, not packed before"),
                        ],
                        max_length=12,
                    ),
                ),
                ("code", models.CharField(blank=True, max_length=60)),
                ("is_own_code", models.BooleanField(default=False)),
                ("code_source", models.CharField(blank=True, max_length=200)),
                ("market_name", models.CharField(blank=True, max_length=80)),
                ("latin_name", models.CharField(blank=True, max_length=80)),
                ("description", models.CharField(blank=True, max_length=120)),
                ("source_place", models.CharField(blank=True, max_length=200)),
                ("source_phone", models.CharField(blank=True, max_length=40)),
                ("first_caught_on", models.DateField(blank=True, null=True)),
                ("last_caught_on", models.DateField(blank=True, null=True)),
                ("caught_where", models.CharField(blank=True, max_length=120)),
                ("vessel", models.CharField(blank=True, max_length=80)),
                ("landed_on", models.DateField(blank=True, null=True)),
                ("farm_place", models.CharField(blank=True, max_length=200)),
                ("farm_phone", models.CharField(blank=True, max_length=40)),
                ("pond", models.CharField(blank=True, max_length=60)),
                ("document", models.CharField(blank=True, max_length=60)),
                ("document_number", models.CharField(blank=True, max_length=60)),
                ("carrier", models.CharField(blank=True, max_length=200)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="batches.member",
                    ),
                ),
                (
                    "corrects",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrections",
                        to="batches.lotorigin",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="origins",
                        to="batches.lot",
                    ),
                ),
                (
                    "premises",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="batches.premises",
                    ),
                ),
                (
                    "producer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="%(class)ss",
                        to="batches.producer",
                    ),
                ),
            ],
            options={
                "abstract": False,
                "base_manager_name": "objects",
                "constraints": [
                    models.UniqueConstraint(
                        fields=("corrects",), name="lotorigin_corrected_once"
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("corrects__isnull", True), ("withdrawn", False)),
                            models.Q(
                                ("corrects__isnull", False),
                                models.Q(("reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="lotorigin_correction_has_reason",
                    ),
                ],
            },
        ),
    ]
