"""Everything on record about one batch, in a fixed number of queries."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import Any, Generic, TypeVar

from django.db.models import Q, QuerySet

from batches.models import (
    Batch,
    BatchLot,
    Instrument,
    InstrumentCheck,
    LabResult,
    NamedDate,
    Reading,
    Remark,
    Review,
    Statement,
    StepMark,
    Trace,
)
from batches.models.append_only import Correctable
from safety.controls import STEPS

_Row = TypeVar("_Row", bound=Correctable)


class Rows(Generic[_Row]):
    """The rows of one kind: all that were ever written, and those that count."""

    def __init__(self, rows: Iterable[_Row]) -> None:
        self.all: tuple[_Row, ...] = tuple(rows)
        for row in self.all:
            if row.corrects_id is not None:
                row.corrects = self.by_pk[row.corrects_id]

    @cached_property
    def by_pk(self) -> Mapping[int, _Row]:
        """Return the rows by their key."""
        return {row.pk: row for row in self.all}

    @cached_property
    def current(self) -> tuple[_Row, ...]:
        """Return the rows that no other corrects and that were not taken back."""
        return self._counting(self.all)

    def as_of(self, instant: datetime) -> tuple[_Row, ...]:
        """Return the rows that counted at an instant, by what was written until then."""
        return self._counting([row for row in self.all if row.recorded_at <= instant])

    def correction_of(self, row: _Row) -> _Row | None:
        """Return the row that corrects this one, if any does."""
        return self._corrections.get(row.pk)

    @cached_property
    def _corrections(self) -> Mapping[int | None, _Row]:
        return {row.corrects_id: row for row in self.all if row.corrects_id}

    @staticmethod
    def _counting(rows: Iterable[_Row]) -> tuple[_Row, ...]:
        rows = tuple(rows)
        corrected = {row.corrects_id for row in rows}
        return tuple(
            row for row in rows if row.pk not in corrected and not row.withdrawn
        )


@dataclass(frozen=True, slots=True)
class StepWindow:
    """When a step began and ended, as the marks that say so."""

    step: str
    start: StepMark
    end: StepMark | None = None

    @property
    def is_open(self) -> bool:
        """Say whether the step goes on."""
        return self.end is None


def windows_from(marks: Iterable[StepMark]) -> dict[str, StepWindow]:
    """Return the windows of the steps that began, in the order of the work."""
    edges = {(mark.step, mark.edge): mark for mark in marks}
    return {
        step: StepWindow(step, start, edges.get((step, StepMark.Edge.END)))
        for step in STEPS
        if (start := edges.get((step, StepMark.Edge.START))) is not None
    }


@dataclass(frozen=True)
class BatchRecords:
    """All rows of one batch, with the instruments that it used and their checks."""

    batch: Batch
    marks: Rows[StepMark]
    readings: Rows[Reading]
    traces: Rows[Trace]
    statements: Rows[Statement]
    dates: Rows[NamedDate]
    remarks: Rows[Remark]
    lab_results: Rows[LabResult]
    lots: tuple[BatchLot, ...]
    instruments: tuple[Instrument, ...]
    checks: Rows[InstrumentCheck]
    reviews: tuple[Review, ...] = ()

    @cached_property
    def windows(self) -> Mapping[str, StepWindow]:
        """Return the current windows by step, in the order of the work."""
        return windows_from(self.marks.current)

    @cached_property
    def last_recorded_at(self) -> datetime:
        """Return when anything was last written about this batch."""
        kinds = (
            self.marks,
            self.readings,
            self.traces,
            self.statements,
            self.dates,
            self.remarks,
            self.lab_results,
        )
        return max(
            (row.recorded_at for rows in kinds for row in rows.all),
            default=self.batch.recorded_at,
        )


def records_of(batch: Batch) -> BatchRecords:
    """Return everything on record about a batch, in eleven queries.

    The batch must come from `batch_of`, with its product, premises and producer.
    """
    lab_results = _rows(
        batch, LabResult.objects.select_related("by").order_by("sampled_at", "pk")
    )
    readings = _rows(
        batch, Reading.objects.select_related("by").order_by("occurred_at", "pk")
    )
    traces = _rows(
        batch,
        Trace.objects.select_related("logger_file", "by").order_by(
            "first_at", "place", "pk"
        ),
    )
    instruments = _instruments(batch, readings, traces)
    checks = Rows(
        InstrumentCheck.objects
        .filter(instrument__in=instruments)
        .select_related("by")
        .order_by("occurred_at", "pk")
    )
    _join(readings.all, "instrument", instruments)
    _join(readings.all, "lab_result", lab_results.by_pk)
    _join(traces.all, "instrument", instruments)
    _join(checks.all, "instrument", instruments)
    return BatchRecords(
        batch=batch,
        marks=_rows(
            batch, StepMark.objects.select_related("by").order_by("occurred_at", "pk")
        ),
        readings=readings,
        traces=traces,
        statements=_rows(
            batch, Statement.objects.select_related("by").order_by("occurred_at", "pk")
        ),
        dates=_rows(
            batch, NamedDate.objects.select_related("by").order_by("occurs_at", "pk")
        ),
        remarks=_rows(
            batch, Remark.objects.select_related("by").order_by("occurred_at", "pk")
        ),
        lab_results=lab_results,
        lots=tuple(
            BatchLot.objects.filter(batch=batch).select_related("lot").order_by("pk")
        ),
        instruments=tuple(instruments.values()),
        checks=checks,
        reviews=tuple(
            Review.objects.filter(batch=batch).select_related("by").order_by("pk")
        ),
    )


def _rows(batch: Batch, rows: QuerySet) -> Rows[Any]:
    found = Rows(rows.filter(batch=batch))
    for row in found.all:
        row.batch = batch
    return found


def _instruments(
    batch: Batch, readings: Rows[Reading], traces: Rows[Trace]
) -> dict[int, Instrument]:
    used = {row.instrument_id for row in (*readings.all, *traces.all)}
    found = Instrument.objects.filter(
        Q(producer=batch.producer_id) & Q(pk__in=used - {None})
    )
    return {instrument.pk: instrument for instrument in found.order_by("code")}


def _join(rows: Iterable[Any], name: str, known: Mapping[int, Any]) -> None:
    for row in rows:
        key = getattr(row, f"{name}_id")
        if key is not None:
            setattr(row, name, known[key])
