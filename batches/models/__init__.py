"""The tables of the records."""

from batches.models.access import (
    GivenSignature,
    InspectorLink,
    LinkRevocation,
    LinkView,
    SecondStepRule,
    WrongPassword,
)
from batches.models.batch import Batch, BatchLot
from batches.models.brine import BrineMix, SoakBreak
from batches.models.deviation import (
    Deviation,
    Disposition,
    Hold,
    Lifting,
    Photo,
    Response,
    Rework,
    TakingBack,
)
from batches.models.entry import NamedDate, Remark, Statement, StepMark
from batches.models.estimate import Estimate
from batches.models.instrument import Instrument, InstrumentCheck, InstrumentUse
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
from batches.models.lot_papers import LotHandling, LotOrigin
from batches.models.packing import (
    Buyer,
    Dispatch,
    MarketCount,
    MarketDay,
    Packing,
    StockCount,
)
from batches.models.plan import (
    AuthorityLetter,
    PlanSignature,
    PlanVersion,
    Reassessment,
)
from batches.models.producer import Member, Premises, Producer
from batches.models.product import Product
from batches.models.reading import LabRead, LabResult, Reading
from batches.models.recall import (
    RecallBatch,
    RecallCase,
    RecallContact,
    RecallEnd,
)
from batches.models.release import FindingRow, FindingSet, Release
from batches.models.review import Review, ReviewRule
from batches.models.trace import Trace
from batches.models.trail import TrailEvent
from batches.models.worklog import (
    ConditionTiming,
    GaugeCheck,
    Recall,
    SampleTest,
    WorkChange,
)

__all__ = [
    "AuthorityLetter",
    "Batch",
    "BatchLot",
    "BrineMix",
    "Buyer",
    "Complaint",
    "ConditionTiming",
    "Deviation",
    "Dispatch",
    "Disposition",
    "Estimate",
    "FindingRow",
    "FindingSet",
    "FollowUp",
    "GaugeCheck",
    "GivenSignature",
    "HiddenCondition",
    "Hold",
    "InspectorLink",
    "Instrument",
    "InstrumentCheck",
    "InstrumentUse",
    "LabRead",
    "LabResult",
    "Lifting",
    "LinkRevocation",
    "LinkView",
    "LoggerFile",
    "Lot",
    "LotHandling",
    "LotOrigin",
    "MaintenanceRecord",
    "MarketCount",
    "MarketDay",
    "Member",
    "NamedDate",
    "Packing",
    "Photo",
    "PlanSignature",
    "PlanVersion",
    "Premises",
    "Producer",
    "Product",
    "Reading",
    "Reassessment",
    "Recall",
    "RecallBatch",
    "RecallCase",
    "RecallContact",
    "RecallEnd",
    "ReceivingCheck",
    "Release",
    "Remark",
    "Response",
    "Review",
    "ReviewRule",
    "Rework",
    "SampleTest",
    "SanitationAnswer",
    "SanitationRound",
    "SecondStepRule",
    "SoakBreak",
    "Statement",
    "StepMark",
    "StockCount",
    "SupplierDocument",
    "TakingBack",
    "Trace",
    "TrailEvent",
    "TrainingRecord",
    "Visit",
    "WorkChange",
    "WrongPassword",
]
