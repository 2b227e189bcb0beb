"""``judge``: judges batch files without touching the database."""

import json
import sys
from argparse import ArgumentParser
from datetime import datetime
from decimal import Decimal
from typing import Any, NoReturn

from django.core.management.base import BaseCommand, CommandParser

from safety.controls import CONTROL_POINTS
from safety.errors import Refused
from safety.judge import judge_batch, read_batch
from safety.judge.finding import Finding, Judgement, Status
from safety.site.console import (
    UNREADABLE_CODE,
    bytes_of,
    refused,
    suit_any_terminal,
)

EXIT_CODES = {Status.MET: 0, Status.NOT_SHOWN: 1, Status.MISSED: 2}
WHO_DECIDES = (
    "This says what the record shows. Whether the food may be sold is decided by the "
    "inspector, the process authority and the local code."
)


class Command(BaseCommand):
    help = (
        "Judge batch files. Exit code: 0 met, 1 not shown, 2 missed, 3 unreadable; "
        "with several files the worst of them."
    )
    requires_system_checks = ()

    def create_parser(
        self, prog_name: str, subcommand: str, **kwargs: Any
    ) -> CommandParser:
        """Return a parser whose own complaints do not exit like a missed limit."""
        parser = super().create_parser(prog_name, subcommand, **kwargs)
        parser.exit = _exit_unreadable
        return parser

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("files", nargs="+", metavar="FILE", help="a batch file")
        parser.add_argument(
            "--json",
            action="store_true",
            dest="as_json",
            help="one line of JSON per file instead of words",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        suit_any_terminal()
        now = datetime.now().astimezone()
        worst = 0
        for name in options["files"]:
            try:
                judgement = judge_batch(read_batch(bytes_of(name), now=now))
            except Refused as refusal:
                worst = UNREADABLE_CODE
                self.stdout.write(refused(name, refusal, as_json=options["as_json"]))
                continue
            worst = max(worst, EXIT_CODES[judgement.outcome])
            if options["as_json"]:
                self.stdout.write(json.dumps(judgement.as_json(), default=_number))
            else:
                self.stdout.write(_in_words(name, judgement))
        sys.exit(worst)


def _exit_unreadable(status: int = 0, message: str | None = None) -> NoReturn:
    if message:
        sys.stderr.write(message)
    sys.exit(UNREADABLE_CODE if status else 0)


def _number(value: object) -> float:
    if isinstance(value, Decimal):
        return float(value)
    raise TypeError(value)


def _in_words(name: str, judgement: Judgement) -> str:
    lines = [f"{name}: {judgement.outcome.value}"]
    for point, status in judgement.control_points.items():
        lines.append(f"  {CONTROL_POINTS[point].title}: {status.value}")
        lines += [
            line
            for finding in judgement.findings
            if finding.control_point == point
            for line in _finding(finding)
        ]
    if judgement.comparison:
        lines.append("  For comparison, by limits that do not govern here:")
        lines += [line for each in judgement.comparison for line in _finding(each)]
    return "\n".join([*lines, f"  {WHO_DECIDES}", ""])


def _finding(finding: Finding) -> list[str]:
    place = f" at {finding.place}" if finding.place else ""
    lines = [f"    {finding.status.value}{place} ({finding.limit_id}): {finding.why}"]
    if finding.would_settle:
        lines.append(f"      What would settle it: {finding.would_settle}")
    if finding.published is not None:
        lines.append(f"      Source: {finding.published.source.cite()}")
    if finding.cautions:
        lines.append(f"      Cautions: {', '.join(finding.cautions)}")
    return lines
