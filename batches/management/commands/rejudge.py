"""Judges stored batches again by other guidance, and reports what would change."""

import json
from argparse import ArgumentParser
from dataclasses import asdict
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from batches.models import Batch
from batches.rejudging import Difference, judged_again
from safety.errors import DataError
from safety.limits import Catalogue
from safety.limits.load import load

WHO_DECIDES = (
    "This says what the records show by other guidance; nothing was changed. What it "
    "means for past batches is decided by the inspector, the process authority and the "
    "local code."
)


class Command(BaseCommand):
    """Report, per batch and control point, the status before and after."""

    help = "Judge stored batches again by other guidance; changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--since", required=True, metavar="DATE", help="batches from this day on"
        )
        parser.add_argument(
            "--limits", metavar="DIR", help="a folder of limit files; default: our own"
        )
        parser.add_argument("--json", action="store_true", dest="as_json")

    def handle(self, *args: Any, **options: Any) -> None:
        since = _day(options["since"])
        among = _guidance(options["limits"])
        batches = list(
            Batch.objects
            .filter(started_at__gte=since)
            .select_related("product", "premises", "producer", "plan")
            .order_by("producer", "started_at", "pk")
        )
        rows: list[Difference] = []
        for done, batch in enumerate(batches, start=1):
            rows += judged_again(batch, among=among, judged_at=timezone.now())
            self._progress(done, len(batches))
        if options["as_json"]:
            document = {
                "format": "brinewright.rejudgement/1",
                "since": options["since"],
                "batches": len(batches),
                "rows": [asdict(row) | {"changed": row.is_changed} for row in rows],
            }
            self.stdout.write(json.dumps(document, indent=1))
            return
        self._say(rows, len(batches))

    def _progress(self, done: int, total: int) -> None:
        end = "\n" if done == total else ""
        self.stderr.write(f"\rJudging again: {done} of {total}", ending=end)
        self.stderr.flush()

    def _say(self, rows: list[Difference], batches: int) -> None:
        changed = [row for row in rows if row.is_changed]
        self.stdout.write(
            f"{batches} batches judged again; {len(changed)} statuses would change."
        )
        for row in changed:
            self.stdout.write(
                f"  {row.producer} {row.batch}, {row.control_point}: "
                f"{row.before} → {row.after}"
            )
        self.stdout.write(WHO_DECIDES)


def _day(text: str) -> datetime:
    try:
        day = date.fromisoformat(text)
    except ValueError as error:
        raise CommandError(
            f"--since {text!r} is no day. Write it like 2026-05-01."
        ) from error
    return datetime(day.year, day.month, day.day, tzinfo=UTC)


def _guidance(folder: str | None) -> Catalogue | None:
    if folder is None:
        return None
    path = Path(folder)
    if not path.is_dir():
        raise CommandError(f"{folder} is no folder. Name one that holds limit files.")
    try:
        return load(path)
    except DataError as error:
        raise CommandError(str(error)) from error
