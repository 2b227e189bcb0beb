"""The tables of the records."""

from batches.models.batch import Batch, BatchLot
from batches.models.entry import NamedDate, Remark, Statement, StepMark
from batches.models.instrument import Instrument, InstrumentCheck
from batches.models.logbook import (
    Complaint,
    FollowUp,
    HiddenCondition,
    MaintenanceRecord,
    ReceivingCheck,
    SanitationAnswer,
    SanitationRound,
    SupplierDocument,
    TrainingRecord,
    Visit,
)
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
    "Complaint",
    "FollowUp",
    "HiddenCondition",
    "Instrument",
    "InstrumentCheck",
    "LabResult",
    "LoggerFile",
    "Lot",
    "MaintenanceRecord",
    "Member",
    "NamedDate",
    "PlanSignature",
    "PlanVersion",
    "Premises",
    "Producer",
    "Product",
    "Reading",
    "Reassessment",
    "ReceivingCheck",
    "Remark",
    "SanitationAnswer",
    "SanitationRound",
    "Statement",
    "StepMark",
    "SupplierDocument",
    "Trace",
    "TrailEvent",
    "TrainingRecord",
    "Visit",
]
