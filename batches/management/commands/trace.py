"""``trace``: says where a lot, a batch or a package came from and where it went."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from batches.lookups.lists import premises_of
from batches.lookups.trace import Trace, found_under, trace_of
from batches.models import Producer


class Command(BaseCommand):
    help = "Trace a lot, batch, code on a package, buyer or day in both directions."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "code", help="a code, a buyer's name, or a day (2025-07-08)"
        )
        parser.add_argument("--producer", default="", help="whose records, by its slug")
        parser.add_argument("--json", action="store_true", dest="as_json")

    def handle(self, *args: Any, **options: Any) -> None:
        producer = _producer(options["producer"])
        zone = premises_of(producer)[0].zone
        start = found_under(producer, options["code"], zone)
        if start is None:
            raise CommandError(
                f"{producer.name} has nothing called {options['code']!r}. Check the "
                "letters, or name a day like 2025-07-08."
            )
        found = trace_of(producer, start)
        if options["as_json"]:
            self.stdout.write(json.dumps(as_json(found), ensure_ascii=False, indent=1))
            return
        self.stdout.write("\n".join(in_words(found)))


def as_json(trace: Trace) -> dict[str, Any]:
    """Return a trace as plain values, every weight with its own digits."""
    return {
        "start": {"kind": trace.start.kind, "name": trace.start.name},
        "lots": [
            {
                "lot": each.lot.code,
                "supplier": each.lot.supplier,
                "supplier_code": each.lot.supplier_code,
                "received_at": each.lot.received_at.isoformat(),
                "received_kg": str(each.lot.mass_kg),
                "used_kg": str(each.used_kg),
                "decided_away_kg": str(each.decided_kg),
                "rest_kg": str(each.rest_kg),
            }
            for each in trace.lots
        ],
        "batches": [
            {
                "batch": each.batch.code,
                "product": each.batch.product.name,
                "from_lots": {use.lot.code: str(use.mass_kg) for use in each.uses},
                "from_batches": {
                    row.from_batch.code: str(row.kg) for row in each.reworked_in
                },
                "in_kg": str(each.in_kg),
                "out_kg": None if each.out_kg is None else str(each.out_kg),
                "codes": [row.code for row in each.stock.packings.current],
                "packages": each.stock.filled,
                "went": {k: v for k, v in sorted(each.stock.went.items()) if v},
                "left": each.stock.left,
                "not_accounted_for": each.stock.unaccounted,
            }
            for each in trace.batches
        ],
        "dispatches": [
            {
                "at": row.occurred_at.isoformat(),
                "batch": row.batch.code,
                "packages": row.packages,
                "kind": row.kind,
                "buyer": row.buyer.name if row.buyer is not None else None,
                "market": row.market.place if row.market is not None else None,
                "document": row.document,
            }
            for row in trace.dispatches
        ],
        "also_from_these_lots": [batch.code for batch in trace.siblings],
    }


def in_words(trace: Trace) -> list[str]:
    """Return a trace as lines for a terminal."""
    lines = [f"{trace.start.kind}: {trace.start.name}", "Came from"]
    lines += [
        f"  {each.lot.code}: {each.lot.supplier} {each.lot.supplier_code}, "
        f"{each.lot.mass_kg} kg; used {each.used_kg} kg, rest {each.rest_kg} kg"
        for each in trace.lots
    ]
    lines.append("Made")
    for each in trace.batches:
        sources = [f"{use.mass_kg} kg of {use.lot.code}" for use in each.uses]
        sources += [f"{row.kg} kg of {row.from_batch.code}" for row in each.reworked_in]
        lines.append(
            f"  {each.batch.code}: {', '.join(sources) or 'no lot on record'}; "
            f"{each.stock.filled} packages, {each.stock.left} left"
        )
    lines.append("Went")
    for row in trace.dispatches:
        whom = row.buyer.name if row.buyer is not None else ""
        lines.append(
            f"  {row.occurred_at:%Y-%m-%d}: {row.packages} of {row.batch.code}, "
            f"{row.get_kind_display().lower()} {whom} {row.document}".rstrip()
        )
    return lines


def _producer(slug: str) -> Producer:
    known = list(Producer.objects.filter(slug=slug) if slug else Producer.objects.all())
    if len(known) == 1:
        return known[0]
    names = ", ".join(each.slug for each in Producer.objects.all()) or "none yet"
    raise CommandError(f"Say which producer with --producer. On record: {names}.")
