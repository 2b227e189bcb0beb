"""Makes a backup of everything, while the site is in use."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any, ClassVar

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError, ProgrammingError
from django.utils import timezone

from batches.keeping.backup import back_up
from batches.keeping.errors import CannotKeep
from batches.management.progress import ProgressLine


class Command(BaseCommand):
    """Write one file with every row and every file, read it back, and note it."""

    help = "Back up everything into one new file; the site may be in use."
    requires_system_checks: ClassVar[
        list[str]
    ] = []  # they would fail where there is no home

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        try:
            made = back_up(path, at=timezone.now(), progress=ProgressLine(self.stderr))
        except CannotKeep as problem:
            raise CommandError(str(problem)) from problem
        except (OperationalError, ProgrammingError) as problem:
            raise CommandError(
                f"There are no records in {settings.BRINEWRIGHT_HOME}, or they are those "
                "of an older version. Set BRINEWRIGHT_HOME to where they are, or run "
                "start first."
            ) from problem
        self.stdout.write(
            f"{path}: {made.row_count} rows and {len(made.files)} files, read back and "
            f"found whole ({path.stat().st_size:,} bytes). It holds the records and the "
            "sign-ins: keep it on another device, where others cannot read it."
        )
        if made.missing_files or made.changed_files:
            raise CommandError(
                "The backup is made, but the home itself has a fault: "
                + "; ".join(
                    [f"{name} is gone" for name in made.missing_files]
                    + [
                        f"{name} is not what was recorded (its checksum differs)"
                        for name in made.changed_files
                    ]
                )
                + ". Look for it in an older backup."
            )
