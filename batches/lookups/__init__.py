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
from batches.lookups.lookback import Stretch, batches_read_in, checks_of, uses_of
from batches.lookups.now import (
    NowList,
    OpenStep,
    RunningBatch,
    UseByNear,
    now_list,
)
from batches.lookups.plan_standing import Standing, standing, standings
from batches.lookups.plans import (
    Due,
    newest_draft,
    numbers_in_force,
    plan_in_force,
    product_of,
    reassessments_due,
    signed_plan,
    signed_plans,
)
from batches.lookups.records import BatchRecords, Rows, StepWindow, records_of
from batches.lookups.trail import TrailFilters, trail_filters, trail_of

__all__ = [
    "BatchRecords",
    "Due",
    "InstrumentState",
    "NowList",
    "OpenStep",
    "Rows",
    "RunningBatch",
    "Standing",
    "StepWindow",
    "Stretch",
    "TrailFilters",
    "UseByNear",
    "batch_of",
    "batches_of",
    "batches_read_in",
    "checks_of",
    "instrument_of",
    "instruments_of",
    "last_reading_of",
    "lot_of",
    "lots_of",
    "member_of",
    "newest_draft",
    "now_list",
    "numbers_in_force",
    "plan_in_force",
    "premises_of",
    "product_of",
    "products_of",
    "reassessments_due",
    "records_of",
    "row_of",
    "signed_plan",
    "signed_plans",
    "standing",
    "standings",
    "trail_filters",
    "trail_of",
    "uses_of",
]
