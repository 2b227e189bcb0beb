"""Every write to the record; the only door through which rows are made.

All functions are keyword-only past their first argument, take ``by`` (the member who
says it) and ``at`` (the instant of entry), run in one transaction, and raise
`batches.errors.RecordError` with the field, a sentence and a code, or write everything.
"""

from batches.recording.accounts import (
    note_code_refused,
    note_locked_out,
    note_sign_in,
    note_sign_in_refused,
)
from batches.recording.brine import interrupt_soak, mix_brine
from batches.recording.conditions import time_condition
from batches.recording.containing import Contained, contain, contain_all
from batches.recording.corrections import withdraw
from batches.recording.deviations import (
    close_deviation,
    hold,
    open_deviation,
    open_due,
    respond,
)
from batches.recording.dispatches import (
    add_buyer,
    change_buyer,
    count_for_market,
    dispatch,
    open_market,
)
from batches.recording.dispositions import dispose, start_rework
from batches.recording.entries import (
    record_date,
    record_reading,
    record_remark,
    record_statement,
)
from batches.recording.estimates import attach_estimate
from batches.recording.findings import store_findings
from batches.recording.instrument_data import change_instrument
from batches.recording.instrument_uses import put_back_in_use, take_out_of_use
from batches.recording.instruments import add_instrument, record_check
from batches.recording.laboratory import read_lab_result, record_lab_result
from batches.recording.links import give_link, record_view, revoke_link
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
from batches.recording.members import (
    change_member,
    change_password,
    change_unit,
    end_membership,
    resume_membership,
    set_first_password,
)
from batches.recording.packing import count_stock, pack
from batches.recording.people import add_member, create_producer
from batches.recording.photos import add_photo
from batches.recording.plans import (
    add_letter,
    answer_questions,
    reassess,
    revise_plan,
    sign_plan,
    start_plan,
)
from batches.recording.products import add_product, receive_lot
from batches.recording.raw_fish import handle_lot, record_origin
from batches.recording.recalls import ask_about, begin_recall, end_recall
from batches.recording.releases import release
from batches.recording.reviews import set_review_rule, sign_review, sign_week
from batches.recording.second_step import (
    begin_second_step,
    confirm_second_step,
    remove_second_step,
    renew_recovery_codes,
    set_second_step_rule,
    stop_second_step,
)
from batches.recording.several import for_each
from batches.recording.steps import mark_step, start_batch
from batches.recording.taking_back import take_back_decision
from batches.recording.traces import record_trace, store_logger_file
from batches.recording.worklog import (
    check_gauge,
    record_change,
    record_recall,
    record_test,
)

__all__ = [
    "Contained",
    "add_buyer",
    "add_instrument",
    "add_letter",
    "add_member",
    "add_photo",
    "add_product",
    "answer_questions",
    "ask_about",
    "attach_estimate",
    "begin_recall",
    "begin_second_step",
    "change_buyer",
    "change_instrument",
    "change_member",
    "change_password",
    "change_unit",
    "check_gauge",
    "check_lot",
    "close_deviation",
    "confirm_second_step",
    "contain",
    "contain_all",
    "count_for_market",
    "count_stock",
    "create_producer",
    "dispatch",
    "dispose",
    "end_membership",
    "end_recall",
    "follow_up",
    "for_each",
    "give_link",
    "handle_lot",
    "hide_condition",
    "hold",
    "interrupt_soak",
    "keep_document",
    "mark_step",
    "mix_brine",
    "note_code_refused",
    "note_locked_out",
    "note_sign_in",
    "note_sign_in_refused",
    "open_deviation",
    "open_due",
    "open_market",
    "pack",
    "put_back_in_use",
    "read_lab_result",
    "reassess",
    "receive_lot",
    "record_change",
    "record_check",
    "record_complaint",
    "record_date",
    "record_lab_result",
    "record_maintenance",
    "record_origin",
    "record_reading",
    "record_recall",
    "record_remark",
    "record_sanitation",
    "record_statement",
    "record_test",
    "record_trace",
    "record_training",
    "record_view",
    "record_visit",
    "release",
    "remove_second_step",
    "renew_recovery_codes",
    "respond",
    "resume_membership",
    "revise_plan",
    "revoke_link",
    "set_first_password",
    "set_review_rule",
    "set_second_step_rule",
    "sign_plan",
    "sign_review",
    "sign_week",
    "start_batch",
    "start_plan",
    "start_rework",
    "stop_second_step",
    "store_findings",
    "store_logger_file",
    "take_back",
    "take_back_decision",
    "take_out_of_use",
    "time_condition",
    "withdraw",
]
