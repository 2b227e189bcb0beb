"""A product's salt results become the sheet of a chart; beside collect a door to records."""

from datetime import datetime

import numpy as np
from django.core.exceptions import ObjectDoesNotExist

from batches.lookups import product_of
from batches.lookups.laboratory import salt_limit_of, salt_readings
from batches.models import Producer
from batches.salting import SaltResults, salt_results
from reports.collect import NotOnRecord
from reports.sheets import Bound, CurveSheet, Level, Line
from safety.judge.evidence import us_of

DAY_US = 86_400_000_000
ROOM = 20  # one of so many parts of the time is left free on both sides


def salt_sheet(producer: Producer, pk: int, at: datetime) -> CurveSheet:
    """Return the chart of the mean salt of each batch of a product."""
    try:
        product = product_of(producer, pk)
    except ObjectDoesNotExist:
        raise NotOnRecord(f"{producer.name} has no such product.") from None
    limit = salt_limit_of(product, at)
    results = salt_results(product, limit, salt_readings(product))
    if not results.means:
        raise NotOnRecord(f"{product.name} has no salt result.")
    return _sheet(results, producer)


def _sheet(results: SaltResults, producer: Producer) -> CurveSheet:
    means, limit = results.means, results.limit
    bounds = (
        ()
        if limit is None
        else (
            Bound(
                value=float(limit.percent),
                words=f"limit {limit.percent} %",
                is_floor=True,
            ),
        )
    )
    at_us = np.array([us_of(mean.sampled_at) for mean in means], dtype=np.int64)
    values = np.array([mean.percent for mean in means], dtype=np.float64)
    room = max(DAY_US, int(at_us[-1] - at_us[0]) // ROOM)
    return CurveSheet(
        slug="salt",
        step="packing",
        title=f"Salt in the water of {results.product.name}, batch by batch",
        description=_description(results),
        caption="",
        unit="%",
        zone=producer.premises.order_by("pk")[0].time_zone,
        lines=(Line(label="", at_us=at_us, values=values),),
        start_us=int(at_us[0]) - room,
        end_us=int(at_us[-1]) + room,
        bounds=bounds,
        marks=_marks(results),
    )


def _marks(results: SaltResults) -> tuple[Level, ...]:
    chart = results.chart
    if chart is None or not results.has_edges:
        return ()
    return (
        Level(value=chart.upper, words="upper edge of the chart"),
        Level(value=chart.centre, words="mean"),
        Level(value=chart.lower, words="lower edge of the chart"),
    )


def _description(results: SaltResults) -> str:
    figures = "; ".join(
        f"{mean.batch.code} {mean.percent:.2f} %" for mean in results.means
    )
    asked = "" if results.limit is None else f" The limit is {results.limit.percent} %."
    return f"Mean salt of each batch in the order of sampling: {figures}.{asked}"
