"""The plain judgement of a whole batch file: every limit, combinations, the instrument check."""

from tests.reference.bounds import DOES_NOT_APPLY, MET, MISSED, NOT_SHOWN, worst
from tests.reference.cooling import cooling_steps, judge_cooling
from tests.reference.durations import judge_dwell, judge_stay
from tests.reference.evidence import measured_as, read_batch
from tests.reference.exposure import judge_exposure
from tests.reference.kinds import judge_stated, judge_value, judge_within

INSTRUMENT_CHECK = "instrument-check"
STEP_KINDS = {
    "at_least": judge_value,
    "at_most": judge_value,
    "dwell_at_least": judge_dwell,
    "dwell_at_most": judge_dwell,
    "stay_at_most": judge_stay,
    "stay_at_least": judge_stay,
}
OTHER_KINDS = {
    "cool_through": judge_cooling,
    "exposure_at_most": judge_exposure,
    "within": judge_within,
    "stated": judge_stated,
}


def judge(doc):
    """Judge a batch-file document that carries its limits and the instant of the judgement."""
    batch = read_batch(doc)
    findings = []
    for limit in doc["limits"]:
        step = limit.get("step", limit["control_point"])
        for place, status, observed in judge_limit(batch, limit, step):
            findings.append(
                _finding(limit["control_point"], limit["id"], place, status, observed)
            )
    findings += judge_instruments(batch)
    control_points = {}
    for finding in findings:
        control_points.setdefault(finding["control_point"], []).append(
            finding["status"]
        )
    return {
        "outcome": _outcome([finding["status"] for finding in findings]),
        "control_points": {name: worst(some) for name, some in control_points.items()},
        "findings": findings,
    }


def _finding(control_point, limit_id, place, status, observed):
    return {
        "control_point": control_point,
        "limit": limit_id,
        "place": place,
        "status": status,
        "observed": observed,
    }


def _outcome(statuses):
    """Return the worst status; nothing, or nothing that applies, is not shown."""
    if all(status == DOES_NOT_APPLY for status in statuses):
        return NOT_SHOWN
    return worst(statuses)


def judge_limit(batch, limit, step):
    """Judge one limit, given the step that it falls back to."""
    kind = limit["kind"]
    if kind in STEP_KINDS:
        return STEP_KINDS[kind](batch, limit, step)
    if kind in OTHER_KINDS:
        return OTHER_KINDS[kind](batch, limit)
    return judge_combination(batch, limit, step)


def judge_combination(batch, limit, step):
    """Kind 7: combine the members per place where they look at the same, else as wholes."""
    members = []
    for member in limit["limits"]:
        member_step = member.get("step", step)
        members.append(judge_limit(batch, member, member_step))
    if subject(limit, step) is None:
        statuses = [
            worst([status for _, status, _ in findings]) for findings in members
        ]
        return [(None, _combine(limit["kind"], statuses), {})]
    places = []
    for findings in members:
        for place, _, _ in findings:
            if place not in places:
                places.append(place)
    combined = []
    for place in places:
        statuses = [
            status
            for findings in members
            for where, status, _ in findings
            if where == place
        ]
        combined.append((place, _combine(limit["kind"], statuses), {}))
    return combined


def subject(limit, step):
    """Return what a limit judges per place, as (quantity, steps); None where it does not."""
    kind = limit["kind"]
    if kind in STEP_KINDS:
        return (limit["quantity"], frozenset([step]))
    if kind == "cool_through":
        return (limit["quantity"], frozenset(cooling_steps(limit)))
    if kind in OTHER_KINDS:
        return None
    subjects = {subject(member, member.get("step", step)) for member in limit["limits"]}
    return subjects.pop() if len(subjects) == 1 else None


def _combine(kind, statuses):
    applying = [status for status in statuses if status != DOES_NOT_APPLY]
    if not applying:
        return DOES_NOT_APPLY
    if kind == "any_of":
        if MET in applying:
            return MET
        return MISSED if all(status == MISSED for status in applying) else NOT_SHOWN
    if MISSED in applying:
        return MISSED
    return MET if all(status == MET for status in applying) else NOT_SHOWN


def judge_instruments(batch):
    """Look at every reading that needs an instrument, judged or not: one finding per instrument."""
    used = {}
    unnamed = False
    for reading in batch.readings:
        if measured_as(reading.quantity) is None:
            continue
        if reading.instrument is None:
            unnamed = True
        else:
            used.setdefault(reading.instrument, []).append(reading)
    findings = []
    for name, readings in used.items():
        status = _instrument_status(batch.instruments[name], readings)
        findings.append(_finding(INSTRUMENT_CHECK, INSTRUMENT_CHECK, name, status, {}))
    if unnamed:
        findings.append(
            _finding(INSTRUMENT_CHECK, INSTRUMENT_CHECK, None, NOT_SHOWN, {})
        )
    return findings


def _instrument_status(instrument, readings):
    is_missed = is_unknown = False
    for reading in readings:
        last = instrument.last_check(reading.at)
        following = instrument.next_check(reading.at)
        # The look-back, and the check that the reading leaned on.
        if following is not None and not following.accepted:
            is_missed = True
        if last is not None and not last.accepted:
            is_missed = True
        if last is None or instrument.is_too_old(last, reading.at):
            is_unknown = True
    if is_missed:
        return MISSED
    return NOT_SHOWN if is_unknown else MET
