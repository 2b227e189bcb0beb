"""Restores a backup into an empty home."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any, ClassVar

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from batches.keeping.errors import CannotKeep
from batches.keeping.restore import restore
from batches.management.progress import ProgressLine


class Command(BaseCommand):
    """Check a backup whole, load it into an empty home, and walk the trail."""

    help = "Restore a backup into an empty home; refuses any other."
    requires_system_checks: ClassVar[
        list[str]
    ] = []  # they look into a database that is not there yet

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        Path(settings.BRINEWRIGHT_HOME).mkdir(parents=True, exist_ok=True)
        try:
            made = restore(path, progress=ProgressLine(self.stderr))
        except CannotKeep as problem:
            raise CommandError(str(problem)) from problem
        self.stdout.write(
            f"Restored: {made.row_count} rows and {len(made.files)} files, as they were "
            f"on {made.made_at}. Everybody signs in again."
        )
        for name in made.missing_files:
            self.stderr.write(f"{name} was already gone when the backup was made.")
        for name in made.changed_files:
            self.stderr.write(f"{name} was already changed when the backup was made.")
        try:
            call_command("verify_trail", stdout=self.stdout, stderr=self.stderr)
        except (CommandError, SystemExit) as problem:
            raise CommandError(
                "The records are restored as the backup has them, but they are not as "
                "they were written: see above. An older backup may be whole."
            ) from problem
