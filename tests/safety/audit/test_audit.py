"""The audit as a whole: it never fails, changes nothing, and says what it could not do."""

import copy
import json
import random
from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from safety.audit import Audit, Severity, audit, checks
from safety.audit.found import in_order
from safety.audit.parts import Parts, Shortfall
from safety.audit.record import Review
from safety.judge import read_batch
from safety.judge.evidence import Window
from tests.reference.generate import random_doc
from tests.safety.audit.build import NOW, SALT, a_record, entry, reading, t
from tests.safety.audit.cases_answers import CASES as ANSWERS
from tests.safety.audit.cases_rows import CASES as ROWS
from tests.safety.audit.random_records import clean_record

ALL = [record for pair in (ROWS | ANSWERS).values() for record in pair]


def wild(rng):
    """Return a record put together from random batch files and the cases of all checks."""
    batch = read_batch(json.dumps(random_doc(rng)), now=NOW)
    some = rng.choice(ALL)
    other = rng.choice(ALL)
    windows = [*batch.windows, *some.windows, *other.windows]
    rng.shuffle(windows)
    readings = [
        reading(
            rng.choice([each.at, None]),
            rng.choice([str(each.value), "ok", ""]),
            step=each.step,
            quantity=each.quantity,
            place=each.place or "",
            unit=each.unit,
            instrument=each.instrument or "",
            corrects=rng.choice([None, None, 1, 2]),
            late_min=rng.choice([-10, 0, 20, 3000]),
            by=rng.choice(["IF", "TM", ""]),
        )
        for each in batch.readings
    ]
    return replace(
        some,
        now=batch.judged_at + timedelta(days=rng.randint(-3, 400)),
        windows=tuple(windows[: rng.randint(0, 8)]),
        readings=(*readings, *other.readings),
        traces=(*batch.traces, *some.traces),
        instruments=(*batch.instruments, *some.instruments),
        limits=(*(batch.limits or ()), *other.limits),
        lots=rng.choice([(), some.lots]),
        reviews=rng.choice([(), (Review(at=batch.judged_at, by="TM"),)]),
        parts=rng.choice([Parts(), some.parts, other.parts]),
        plan=rng.choice([None, some.plan, other.plan]),
    )


@given(st.integers(min_value=0, max_value=2**32 - 1))
def test_audit_never_fails_and_changes_nothing(seed):
    record = wild(random.Random(seed))
    for each in record.traces:
        each.at_us.setflags(write=False)
        each.values.setflags(write=False)
    before = copy.deepcopy(record)
    said = audit(record)
    assert repr(record) == repr(before)
    assert said == audit(record)
    assert sorted([*said.ran, *(each.check for each in said.not_run)]) == sorted(
        checks()
    )
    assert {found.check for found in said.found} <= set(said.ran)


def test_empty_record_is_no_clean_record():
    said = audit(replace(a_record(), windows=(), lots=(), plan=None))
    assert not said.is_clean
    reasons = dict(said.reasons)
    assert reasons["not on record here: sales"] >= 3
    assert sum(reasons.values()) == len(said.not_run) > len(checks()) // 2


def test_what_could_not_run_is_told_apart_from_what_found_nothing():
    said = audit(a_record())
    assert "slow-heating" not in said.ran
    (missing,) = (each for each in said.not_run if each.check == "slow-heating")
    assert missing.because == "no limit holds the core at a temperature"
    assert "no-initials" in said.ran


def test_rule_binds_only_where_it_is_law():
    fault = entry("10:00", late_min=1500, by="IF")
    at_home = audit(a_record(entries=(fault,)))
    abroad = audit(a_record(entries=(fault,), jurisdictions=("DE", "any")))
    kitchen = audit(a_record(entries=(fault,), programme="retail"))

    def weights(said):
        return {f.severity for f in said.found if f.check == "late-by-a-day"}

    assert weights(at_home) == {Severity.RULE}
    assert weights(abroad) == weights(kitchen) == {Severity.ASKED}


def test_unsafe_is_unsafe_everywhere():
    missed = Parts(
        missed=(Shortfall(control_point="cooling", limit_id="x"),), answers=()
    )
    said = audit(a_record(jurisdictions=("DE", "any"), parts=missed))
    assert Severity.UNSAFE in {f.severity for f in said.found}


def test_gravest_comes_first():
    record = a_record(
        address="",
        readings=(reading("12:00", "12", instrument=""), reading("12:01", "12", by="")),
        use_by_at=t("2026-06-20"),
        shelf_life_days=14,
    )
    ranks = [list(Severity).index(found.severity) for found in audit(record).found]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) == 3
    assert in_order([]) == ()
    assert Audit().is_clean


def test_never_sampled_product_is_overdue_by_its_own_age():
    young = a_record(limits=(SALT,))
    old = replace(young, now=NOW + timedelta(days=92))
    assert not [f for f in audit(young).found if f.check == "test-overdue"]
    assert [f for f in audit(old).found if f.check == "test-overdue"]


def test_plan_of_a_29th_of_february_is_due_a_year_later():
    signed = t("2024-02-29T08:00")
    record = a_record()
    for day, is_due in (("2025-02-28", False), ("2025-03-01", True)):
        began = replace(
            record,
            started_at=t(f"{day}T12:00"),
            plan=replace(record.plan, signed_at=signed),
        )
        found = {each.check for each in audit(began).found}
        assert ("plan-not-reassessed" in found) is is_due


def test_making_that_goes_on_is_not_overdue():
    record = a_record(windows=(Window(step="curing", start=t("2025-06-04T19:10")),))
    assert "review-overdue" in {each.check for each in audit(record).not_run}


def test_clean_random_records_say_what_they_could_not_look_at():
    said = audit(clean_record(random.Random(1)))
    assert len(said.ran) > 40
    assert said.not_run
