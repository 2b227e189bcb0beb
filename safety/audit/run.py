"""Runs every check on one record: what was found, what ran, what could not be run."""

from collections.abc import Callable, Mapping
from dataclasses import replace

from safety.audit import (
    amounts,
    answers,
    gauges,
    loggers,
    people,
    plans,
    process,
    times,
    values,
    watching,
)
from safety.audit.found import Audit, CannotSay, Found, NotRun, Severity, in_order
from safety.audit.load import Check, checks
from safety.audit.parts import NAMES
from safety.audit.record import Record
from safety.limits.reader import ANY_JURISDICTION

_Function = Callable[[Record, Check], list[Found] | CannotSay]
_FUNCTIONS: tuple[_Function, ...] = (
    times.late_entry,
    times.late_by_a_day,
    times.late_unexplained,
    times.typed_in_bulk,
    times.no_instant,
    times.in_the_future,
    times.outside_step,
    times.one_instant_for_all,
    times.round_minutes,
    values.same_value_run,
    values.unit_slip,
    values.not_a_number,
    values.last_digit,
    values.fives_and_zeros,
    values.copied_day,
    values.copied_sheet,
    loggers.logger_gap,
    loggers.flat_logger,
    loggers.typed_off_logger,
    loggers.typed_flatter,
    process.over_size,
    process.slow_heating,
    process.soak_outside,
    process.brining_unwatched,
    process.brine_against_salometer,
    process.salometer_uncorrected,
    process.brine_short,
    watching.late_first_cooling,
    watching.monitoring_gap,
    watching.cold_store_day,
    watching.wrong_quantity,
    process.study_missing,
    process.probes_missing,
    people.no_initials,
    people.no_firm,
    people.no_product_or_lot,
    people.two_places_at_once,
    people.reviewer_untrained,
    people.review_too_fast,
    gauges.instrument_unnamed,
    gauges.instrument_out_of_date,
    gauges.instrument_failed_later,
    gauges.drift_past_half,
    gauges.drift_in_a_row,
    gauges.drift_on_average,
    gauges.too_perfect,
    answers.missed_unanswered,
    answers.answer_incomplete,
    answers.sold_while_held,
    answers.sold_before_test,
    answers.released_early,
    answers.review_late,
    answers.review_overdue,
    answers.edited_after_review,
    answers.lab_unread,
    answers.lab_awaited,
    answers.test_overdue,
    plans.plan_unsigned,
    plans.plan_not_reassessed,
    plans.change_unassessed,
    plans.complaint_open,
    plans.illness_unanswered,
    plans.use_by_too_far,
    plans.step_without_end,
    plans.often_corrected,
    amounts.lot_overdrawn,
    amounts.lot_used_before_received,
    amounts.more_out_than_in,
    amounts.packages_unaccounted,
    amounts.labels_against_packages,
    amounts.sold_past_use_by,
    amounts.sold_lot_unknown,
    amounts.cleaning_missing,
    amounts.sanitizer_without_figure,
    amounts.cleaning_uncorrected,
)
FUNCTIONS: Mapping[str, _Function] = {
    function.__name__.replace("_", "-"): function for function in _FUNCTIONS
}


def audit(record: Record) -> Audit:
    """Return what the checks of the record find in one record.

    A check that lacks what it looks at is reported as not run: missing is not fine.
    Nothing is changed, and no finding of a limit depends on any of this.
    """
    found: list[Found] = []
    ran: list[str] = []
    not_run: list[NotRun] = []
    for identity, check in checks().items():
        because = _missing(record, check)
        said = CannotSay(because) if because else FUNCTIONS[identity](record, check)
        if isinstance(said, CannotSay):
            not_run.append(NotRun(identity, check.title, said.because))
            continue
        ran.append(identity)
        found += [_where_it_binds(each, record, check) for each in said]
    return Audit(found=in_order(found), ran=tuple(ran), not_run=tuple(not_run))


def _missing(record: Record, check: Check) -> str:
    """Return which part of the record a check lacks; empty if it lacks none."""
    for part in check.needs:
        if getattr(record.parts, part) is None:
            return f"not on record here: {NAMES[part]}"
    return ""


def _where_it_binds(found: Found, record: Record, check: Check) -> Found:
    """Return the fault as one that may be asked about, where no rule is broken by it."""
    binds = check.jurisdiction in {ANY_JURISDICTION, *record.jurisdictions} and (
        not check.programmes or record.programme in check.programmes
    )
    if found.severity is not Severity.RULE or binds:
        return found
    return replace(found, severity=Severity.ASKED)
