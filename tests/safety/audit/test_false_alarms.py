"""How often the checks that go by chance fire on clean records: no more than stated."""

import random
from collections import Counter

import pytest

from safety.audit import audit, checks
from tests.safety.audit.random_records import clean_record

RECORDS = 400
STATED = {
    identity: check.false_alarm_pct
    for identity, check in checks().items()
    if check.false_alarm_pct is not None
}


@pytest.fixture(scope="module")
def counts():
    rng = random.Random(20250605)
    fired, ran = Counter(), Counter()
    for _ in range(RECORDS):
        said = audit(clean_record(rng))
        ran.update(said.ran)
        fired.update({found.check for found in said.found})
    return fired, ran


@pytest.mark.parametrize("identity", sorted(STATED))
def test_fires_no_oftener_than_stated(counts, identity):
    fired, ran = counts
    assert ran[identity] == RECORDS
    assert 100 * fired[identity] / RECORDS <= STATED[identity]


def test_checks_without_chance_never_fire_on_clean_records(counts):
    fired, _ = counts
    assert set(fired) <= set(STATED)
