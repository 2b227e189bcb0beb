"""The tables of the records."""

from batches.models.batch import Batch, BatchLot
from batches.models.entry import NamedDate, Remark, Statement, StepMark
from batches.models.instrument import Instrument, InstrumentCheck
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
from batches.models.reading import LabRead, LabResult, Reading
from batches.models.review import Review, ReviewRule
from batches.models.trace import Trace
from batches.models.trail import TrailEvent

__all__ = [
    "AuthorityLetter",
    "Batch",
    "BatchLot",
    "Instrument",
    "InstrumentCheck",
    "LabRead",
    "LabResult",
    "LoggerFile",
    "Lot",
    "Member",
    "NamedDate",
    "PlanSignature",
    "PlanVersion",
    "Premises",
    "Producer",
    "Product",
    "Reading",
    "Reassessment",
    "Remark",
    "Review",
    "ReviewRule",
    "Statement",
    "StepMark",
    "Trace",
    "TrailEvent",
]
