"""Writes everything that one producer owns into one zip."""

import os
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, OutputWrapper
from django.db import OperationalError, ProgrammingError
from django.utils import timezone

from reports.collect import NotOnRecord, producer_called
from reports.export import export_chunks


class Command(BaseCommand):
    help = "Export everything that a producer owns: batch files, tables, PDFs, files."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("slug", metavar="SLUG", help="which producer")
        parser.add_argument("file", type=Path, metavar="FILE.zip")

    def handle(self, *args: Any, **options: Any) -> None:
        path: Path = options["file"]
        if path.exists():
            raise CommandError(
                f"{path} is already there and is not overwritten. Give another name."
            )
        draft = path.with_name(f".{path.name}.part")
        try:
            producer = producer_called(options["slug"])
            with draft.open("wb") as out:
                chunks = export_chunks(
                    producer, at=timezone.now(), progress=_progress(self.stderr)
                )
                out.writelines(chunks)
                out.flush()
                os.fsync(out.fileno())
            draft.rename(path)
        except NotOnRecord as problem:
            raise CommandError(str(problem)) from problem
        except (OperationalError, ProgrammingError) as problem:
            raise CommandError(
                f"There are no records in {settings.BRINEWRIGHT_HOME}. Set "
                "BRINEWRIGHT_HOME to where they are, or run start first."
            ) from problem
        except OSError as problem:
            raise CommandError(
                f"{path} cannot be written: {problem.strerror}."
            ) from problem
        finally:
            draft.unlink(missing_ok=True)
        self.stdout.write(f"{path} ({path.stat().st_size:,} bytes)")


def _progress(out: OutputWrapper) -> Any:
    def say(what: str, done: int, total: int) -> None:
        if out.isatty():
            end = "\n" if done == total else ""
            out.write(f"\rExporting: {done} of {total} ({what})   ", ending=end)
            out.flush()

    return say
