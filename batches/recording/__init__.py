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
from batches.recording.links import give_link, record_view, revoke_link
from batches.recording.members import (
    change_member,
    change_password,
    change_unit,
    end_membership,
    resume_membership,
    set_first_password,
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
from batches.recording.second_step import (
    begin_second_step,
    confirm_second_step,
    remove_second_step,
    renew_recovery_codes,
    stop_second_step,
)
from batches.recording.steps import mark_step, start_batch
from batches.recording.traces import record_trace, store_logger_file

__all__ = [
    "add_instrument",
    "add_letter",
    "add_member",
    "add_product",
    "answer_questions",
    "begin_second_step",
    "change_member",
    "change_password",
    "change_unit",
    "confirm_second_step",
    "create_producer",
    "end_membership",
    "give_link",
    "mark_step",
    "note_sign_in",
    "reassess",
    "receive_lot",
    "record_check",
    "record_date",
    "record_lab_result",
    "record_reading",
    "record_remark",
    "record_statement",
    "record_trace",
    "record_view",
    "remove_second_step",
    "renew_recovery_codes",
    "resume_membership",
    "revise_plan",
    "revoke_link",
    "set_first_password",
    "sign_plan",
    "start_batch",
    "start_plan",
    "stop_second_step",
    "store_logger_file",
    "withdraw",
]
