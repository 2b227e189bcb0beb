"""``verify_trail``: says whether the record is as it was written, and where it is not."""

import sys
import time
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.template.defaultfilters import pluralize

from batches.models import Producer
from batches.verifying import Fault, Report, find_head, lost_producers, verify

LINE_EVERY_S = 0.2
SHOWN_AT_MOST = 20


class Command(BaseCommand):
    """Walk every trail, compare every row with it, and name the first broken link."""

    help = "Verify that the record is as it was written; exits with 1 if it is not."
    requires_system_checks = ()  # it reads a record in any state

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--producer", metavar="SLUG", help="only this producer's")
        parser.add_argument(
            "--head",
            metavar="HASH",
            help="the trail's hash as a document prints it: is it still part of this "
            "record, or is this an older copy?",
        )

    def handle(
        self, *args: Any, producer: str | None, head: str | None, **options: Any
    ) -> None:
        self._next_line_at = 0.0
        faults = [] if producer else lost_producers()
        for each in self._producers(producer):
            report = verify(each, progress=self._show_progress)
            self._tell(report)
            faults += report.faults
        if head is not None:
            faults += self._look_for(head)
        for fault in faults[:SHOWN_AT_MOST]:
            self.stdout.write(self.style.ERROR(str(fault)))
        if len(faults) > SHOWN_AT_MOST:
            self.stdout.write(f"… and {len(faults) - SHOWN_AT_MOST} more.")
        if faults:
            self.stdout.flush()
            sys.exit(1)

    def _producers(self, slug: str | None) -> list[Producer]:
        producers = list(Producer.objects.order_by("pk"))
        if slug is None:
            return producers
        found = [each for each in producers if each.slug == slug]
        if not found:
            known = ", ".join(each.slug for each in producers) or "none"
            raise CommandError(f"There is no producer {slug!r}. There are: {known}.")
        return found

    def _tell(self, report: Report) -> None:
        self._clear_line()
        found = len(report.faults)
        verdict = (
            "as it was written"
            if report.is_intact
            else f"BROKEN in {found} place{pluralize(found)}; the first comes first"
        )
        self.stdout.write(
            f"{report.producer} ({report.producer.slug}): {report.events} events, "
            f"{report.rows} rows, {verdict}."
        )
        self.stdout.write(f"    head {report.head_number}: {report.head_sha256}")

    def _look_for(self, head: str) -> list[Fault]:
        try:
            found = find_head(head)
        except ValueError as error:
            raise CommandError(str(error)) from error
        if isinstance(found, Fault):
            return [found]
        self.stdout.write(
            f"The trail of {found.producer} contains that hash: event {found.number} of "
            f"{found.at:%Y-%m-%d %H:%M} UTC, {found.act} {found.words!r}."
        )
        return []

    def _show_progress(self, done: int, total: int) -> None:
        now = time.monotonic()
        if not self.stdout.isatty() or now < self._next_line_at:
            return
        self._next_line_at = now + LINE_EVERY_S
        self.stdout.write(f"\r{done} of {total} ", ending="")
        self.stdout.flush()

    def _clear_line(self) -> None:
        if self.stdout.isatty():
            self.stdout.write("\r", ending="")
