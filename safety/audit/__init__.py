"""Checks of the record itself: what an inspector would find wrong with it, found first.

The limits of a batch are judged elsewhere (``safety.judge``), and so are a hold that was
too short, a cooling too slow, a time too long out of refrigeration. Here the record is
looked at: late, copied, too neat, unsigned, unanswered. Pure functions over frozen
values; they change no record, and no finding depends on them.
"""

from safety.audit.found import Audit, CannotSay, Found, NotRun, Severity
from safety.audit.load import Check, checks
from safety.audit.parts import Parts
from safety.audit.record import Record
from safety.audit.run import audit

__all__ = [
    "Audit",
    "CannotSay",
    "Check",
    "Found",
    "NotRun",
    "Parts",
    "Record",
    "Severity",
    "audit",
    "checks",
]
