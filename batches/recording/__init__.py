"""Every write to the record; the only door through which rows are made.

All functions are keyword-only past their first argument, take ``by`` (the member who
says it) and ``at`` (the instant of entry), run in one transaction, and raise
`batches.errors.RecordError` with the field, a sentence and a code, or write everything.
"""

from batches.recording.corrections import withdraw
from batches.recording.entries import (
    record_date,
    record_reading,
    record_remark,
    record_statement,
)
from batches.recording.instruments import add_instrument, record_check
from batches.recording.laboratory import record_lab_result
from batches.recording.logbook import (
    check_lot,
    follow_up,
    hide_condition,
    keep_document,
    record_complaint,
    record_maintenance,
    record_sanitation,
    record_training,
    record_visit,
    take_back,
)
from batches.recording.people import add_member, create_producer, note_sign_in
from batches.recording.plans import (
    add_letter,
    answer_questions,
    reassess,
    revise_plan,
    sign_plan,
    start_plan,
)
from batches.recording.products import add_product, receive_lot
from batches.recording.steps import mark_step, start_batch
from batches.recording.traces import record_trace, store_logger_file

__all__ = [
    "add_instrument",
    "add_letter",
    "add_member",
    "add_product",
    "answer_questions",
    "check_lot",
    "create_producer",
    "follow_up",
    "hide_condition",
    "keep_document",
    "mark_step",
    "note_sign_in",
    "reassess",
    "receive_lot",
    "record_check",
    "record_complaint",
    "record_date",
    "record_lab_result",
    "record_maintenance",
    "record_reading",
    "record_remark",
    "record_sanitation",
    "record_statement",
    "record_trace",
    "record_training",
    "record_visit",
    "revise_plan",
    "sign_plan",
    "start_batch",
    "start_plan",
    "store_logger_file",
    "take_back",
    "withdraw",
]
