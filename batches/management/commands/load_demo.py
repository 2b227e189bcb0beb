"""Loads the demo season and says how to sign in to it."""

import time
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from batches.demo.load import load_demo
from batches.errors import RecordError

LINE_EVERY_S = 0.1


class Command(BaseCommand):
    """Write the invented season of a smokehouse into the records, once."""

    help = "Load the demo: an invented season of an invented smokehouse."

    def handle(self, *args: Any, **options: Any) -> None:
        self._next_line_at = 0.0
        try:
            loaded = load_demo(self._show_progress)
        except RecordError as error:
            raise CommandError(
                f"The demo cannot be loaded, and nothing of it was: {error}"
            ) from error
        if loaded.is_new:
            self.stdout.write(
                f"Demo loaded: {loaded.name}, June to August 2025, "
                f"{loaded.entries} entries."
            )
        else:
            self.stdout.write(f"The demo is already there: {loaded.name}.")
        self.stdout.write(
            f"Sign in as {loaded.username} with the password {loaded.password} "
            "(for the demo only: everybody who has the program knows it)."
        )

    def _show_progress(self, done: int, total: int) -> None:
        """Rewrite one line on a terminal; elsewhere say nothing until the end."""
        now = time.monotonic()
        if not self.stdout.isatty() or (now < self._next_line_at and done < total):
            return
        self._next_line_at = now + LINE_EVERY_S
        end = "\n" if done == total else ""
        self.stdout.write(f"\rWriting the demo season: {done} of {total}", ending=end)
        self.stdout.flush()
