"""Registers the records as a Django app."""

from importlib import import_module

from django.apps import AppConfig


class BatchesConfig(AppConfig):
    """The records: producers, products, lots, batches and what was seen in them."""

    name = "batches"
    verbose_name = "Records"

    def ready(self) -> None:
        """Register the start-up checks."""
        import_module("batches.checks")
