"""Every read of the record that is more than one row by its key, scoped by producer."""

from batches.lookups.lists import (
    InstrumentState,
    batch_of,
    batches_of,
    instrument_of,
    instruments_of,
    last_reading_of,
    lot_of,
    lots_of,
    member_of,
    premises_of,
    products_of,
    row_of,
)
from batches.lookups.now import (
    NowList,
    OpenStep,
    RunningBatch,
    UseByNear,
    now_list,
)
from batches.lookups.records import BatchRecords, Rows, StepWindow, records_of

__all__ = [
    "BatchRecords",
    "InstrumentState",
    "NowList",
    "OpenStep",
    "Rows",
    "RunningBatch",
    "StepWindow",
    "UseByNear",
    "batch_of",
    "batches_of",
    "instrument_of",
    "instruments_of",
    "last_reading_of",
    "lot_of",
    "lots_of",
    "member_of",
    "now_list",
    "premises_of",
    "products_of",
    "records_of",
    "row_of",
]
