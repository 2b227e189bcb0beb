"""Each check finds its fault, and is silent just inside."""

import pytest

from safety.audit import audit, checks
from tests.safety.audit import cases_answers, cases_rows

CASES = cases_rows.CASES | cases_answers.CASES


def found_by(identity, record):
    said = audit(record)
    assert identity in said.ran, [n for n in said.not_run if n.check == identity]
    return [found for found in said.found if found.check == identity]


def test_every_check_has_its_cases():
    assert set(CASES) == set(checks())


@pytest.mark.parametrize("identity", sorted(CASES))
def test_fault_is_found(identity):
    for found in found_by(identity, CASES[identity][0]):
        assert found.severity is checks()[identity].severity
        assert found.sentence.endswith(".")
        assert found.source
        return
    pytest.fail("nothing was found")


@pytest.mark.parametrize("identity", sorted(CASES))
def test_record_just_inside_is_silent(identity):
    assert found_by(identity, CASES[identity][1]) == []
