"""Registers the records as a Django app."""

from importlib import import_module

from django.apps import AppConfig
from django.db.models.signals import post_migrate


class BatchesConfig(AppConfig):
    """The records: producers, products, lots, batches and what was seen in them."""

    name = "batches"
    verbose_name = "Records"

    def ready(self) -> None:
        """Register the start-up checks, and what follows a migration."""
        import_module("batches.checks")
        upgrading = import_module("batches.upgrading")
        post_migrate.connect(upgrading.after_migrating, sender=self)
