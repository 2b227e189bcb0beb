"""``raise_fences``: makes the triggers that keep the record from being changed."""

from typing import Any

from django.core.management.base import BaseCommand
from django.db import connection

from batches.fences import raise_fences


class Command(BaseCommand):
    """Make what is missing of the triggers, and say which they were."""

    help = "Make the database triggers that keep the record from being changed."
    requires_system_checks = ()  # it mends what the checks complain of

    def handle(self, *args: Any, **options: Any) -> None:
        made = raise_fences(connection)
        if not made:
            self.stdout.write("Every trigger is in its place.")
            return
        for fence in made:
            self.stdout.write(f"Made {fence.name} on {fence.table}.")
        self.stdout.write(
            "Rows may have been changed while these were missing. "
            "Look with: python3 manage.py verify_trail"
        )
