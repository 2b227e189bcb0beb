"""The tables of the records."""

from batches.models.batch import Batch, BatchLot
from batches.models.deviation import (
    Deviation,
    Disposition,
    Hold,
    Lifting,
    Photo,
    Response,
    Rework,
)
from batches.models.entry import NamedDate, Remark, Statement, StepMark
from batches.models.instrument import Instrument, InstrumentCheck, InstrumentUse
from batches.models.logger_file import LoggerFile
from batches.models.lot import Lot
from batches.models.plan import (
    AuthorityLetter,
    PlanSignature,
    PlanVersion,
    Reassessment,
)
from batches.models.producer import Member, Premises, Producer
from batches.models.product import Product
from batches.models.reading import LabResult, Reading
from batches.models.release import FindingRow, FindingSet, Release
from batches.models.trace import Trace
from batches.models.trail import TrailEvent

__all__ = [
    "AuthorityLetter",
    "Batch",
    "BatchLot",
    "Deviation",
    "Disposition",
    "FindingRow",
    "FindingSet",
    "Hold",
    "Instrument",
    "InstrumentCheck",
    "InstrumentUse",
    "LabResult",
    "Lifting",
    "LoggerFile",
    "Lot",
    "Member",
    "NamedDate",
    "Photo",
    "PlanSignature",
    "PlanVersion",
    "Premises",
    "Producer",
    "Product",
    "Reading",
    "Reassessment",
    "Release",
    "Remark",
    "Response",
    "Rework",
    "Statement",
    "StepMark",
    "Trace",
    "TrailEvent",
]
