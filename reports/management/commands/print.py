"""Prints the record of one batch into a PDF file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import OperationalError, ProgrammingError
from django.utils import timezone

from reports.collect import NotOnRecord, Wish, batch_record, producer_called
from reports.documents import PAPERS, record_pdf
from reports.pdf import PdfUnavailable


class Command(BaseCommand):
    help = "Print the record of one batch into a PDF file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("code", metavar="CODE", help="the code of the batch")
        parser.add_argument("--out", required=True, type=Path, metavar="FILE.pdf")
        parser.add_argument("--paper", choices=PAPERS, default="")
        parser.add_argument(
            "--annex", action="store_true", help="with every value of the loggers"
        )
        parser.add_argument(
            "--producer", default="", metavar="SLUG", help="where there are several"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        wish = Wish(
            at=timezone.now(), paper=options["paper"], has_annex=options["annex"]
        )
        out: Path = options["out"]
        try:
            producer = producer_called(options["producer"])
            rendered = record_pdf(batch_record(producer, options["code"], wish))
            out.write_bytes(rendered.content)
        except (NotOnRecord, PdfUnavailable) as problem:
            raise CommandError(str(problem)) from problem
        except (OperationalError, ProgrammingError) as problem:
            raise CommandError(
                f"There are no records in {settings.BRINEWRIGHT_HOME}. Set "
                "BRINEWRIGHT_HOME to where they are, or run start first."
            ) from problem
        except OSError as problem:
            raise CommandError(
                f"{out} cannot be written: {problem.strerror}."
            ) from problem
        self.stdout.write(f"{out} ({len(rendered.content):,} bytes)")
