"""The tables of the records."""

from batches.models.access import (
    GivenSignature,
    InspectorLink,
    LinkRevocation,
    LinkView,
    WrongPassword,
)
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
from batches.models.reading import LabResult, Reading
from batches.models.trace import Trace
from batches.models.trail import TrailEvent

__all__ = [
    "AuthorityLetter",
    "Batch",
    "BatchLot",
    "GivenSignature",
    "InspectorLink",
    "Instrument",
    "InstrumentCheck",
    "LabResult",
    "LinkRevocation",
    "LinkView",
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
    "Statement",
    "StepMark",
    "Trace",
    "TrailEvent",
    "WrongPassword",
]
