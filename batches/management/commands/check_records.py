"""Runs the checks of the record on stored batches, and lists what they find."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from batches.auditing import Audited, found_in
from batches.lookups import records_of
from batches.models import Batch
from safety.audit import Found, checks

FORMAT = "brinewright.checks/1"


class Command(BaseCommand):
    """List, per batch, what is wrong with its record and what could not be looked at."""

    help = "Check the records of batches themselves; changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "codes", nargs="*", metavar="CODE", help="batches; none: all of them"
        )
        parser.add_argument("--producer", metavar="SLUG", help="only of this producer")
        parser.add_argument("--json", action="store_true", dest="as_json")

    def handle(self, *args: Any, **options: Any) -> None:
        batches = _batches(options["codes"], options["producer"])
        now = timezone.now()
        audited: list[Audited] = []
        for done, batch in enumerate(batches, start=1):
            audited.append(Audited(batch, found_in(records_of(batch), now=now)))
            self._progress(done, len(batches))
        if options["as_json"]:
            document = {"format": FORMAT, "batches": [_as_json(one) for one in audited]}
            self.stdout.write(json.dumps(document, indent=1, ensure_ascii=False))
            return
        for one in audited:
            self._say(one)
        found = sum(len(one.audit.found) for one in audited)
        self.stdout.write(
            f"{len(audited)} batches, {len(checks())} checks: {found} things found."
        )

    def _progress(self, done: int, total: int) -> None:
        end = "\n" if done == total else ""
        self.stderr.write(f"\rChecking records: {done} of {total}", ending=end)
        self.stderr.flush()

    def _say(self, one: Audited) -> None:
        audit = one.audit
        self.stdout.write(
            f"{one.batch.producer.name} {one.batch.code}: {len(audit.found)} found, "
            f"{len(audit.ran)} ran, {len(audit.not_run)} could not run"
        )
        for found in audit.found:
            self.stdout.write(
                f"  {found.severity.words}: {found.title}. {found.sentence}"
            )
            self.stdout.write(f"    {found.remedy} [{found.check}; {found.source}]")


def _batches(codes: list[str], producer: str | None) -> list[Batch]:
    chosen = Batch.objects.select_related("product", "premises", "producer", "plan")
    if producer:
        chosen = chosen.filter(producer__slug=producer)
    if codes:
        chosen = chosen.filter(code__in=codes)
    found = list(chosen.order_by("producer", "started_at", "pk"))
    missing = sorted(set(codes) - {batch.code for batch in found})
    if missing:
        raise CommandError(
            f"There is no batch {', '.join(missing)}. Type codes as they stand on the "
            "list of batches."
        )
    return found


def _as_json(one: Audited) -> dict[str, Any]:
    return {
        "producer": one.batch.producer.slug,
        "batch": one.batch.code,
        "found": [_found(each) for each in one.audit.found],
        "ran": list(one.audit.ran),
        "not_run": [
            {"check": each.check, "because": each.because} for each in one.audit.not_run
        ],
    }


def _found(each: Found) -> dict[str, Any]:
    return {
        "check": each.check,
        "severity": each.severity.value,
        "title": each.title,
        "sentence": each.sentence,
        "remedy": each.remedy,
        "source": each.source,
        "at": each.at.isoformat() if each.at is not None else None,
        "entries": list(each.entries),
    }
