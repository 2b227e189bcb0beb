"""Each fault planted in the demo season is found in its stored rows, and no clean batch has one."""

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from django.db import transaction
from django.test import override_settings

from batches import lookups
from batches.auditing import found_in, parts_of
from batches.demo.load import load_demo
from batches.judging import judge
from batches.lookups.told import told_of
from batches.models import Producer

AT_THE_END = datetime(2025, 8, 31, 12, 0, tzinfo=ZoneInfo("America/Detroit"))

# The faults that the story plants: where, and by which checks each must be found.
PLANTED = [
    ("Q1", "B04", {"no-initials"}),
    ("Q2", "B02", {"same-value-run", "typed-flatter"}),
    ("Q3", "B02", {"review-late"}),
    ("Q4", "B09", {"late-by-a-day"}),
    ("Q5", "B12", {"typed-in-bulk", "late-entry"}),
    ("Q6", "B10", {"sold-before-test"}),
    ("Q7", "B06", {"lab-unread", "slow-heating"}),
    ("Q8", "B10", {"drift-past-half"}),
    ("Q9", "B07", {"cleaning-missing"}),
    ("Q10", "B15", {"labels-against-packages"}),
    ("Q11", "B06", {"two-places-at-once"}),
    ("Q12", "B14", {"unit-slip"}),
]
CLEAN = ("B01", "B03", "B05", "B11R", "B13")


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker, tmp_path_factory):
    """Return, by what is stored of every batch, what is told of it and what is found."""
    files = override_settings(MEDIA_ROOT=tmp_path_factory.mktemp("files"))
    with django_db_blocker.unblock(), files, transaction.atomic():
        load_demo()
        found = {}
        for batch in lookups.batches_of(Producer.objects.get()):
            records = lookups.records_of(batch)
            judged, told = judge(records, judged_at=AT_THE_END), told_of(records)
            found[batch.code] = (
                parts_of(records, judged, told, now=AT_THE_END),
                found_in(records, now=AT_THE_END, judgement=judged, told=told),
            )
        transaction.set_rollback(True)
    return found


@pytest.fixture(scope="module")
def season(loaded):
    return {code: found for code, (_, found) in loaded.items()}


@pytest.fixture(scope="module")
def parts(loaded):
    return {code: told for code, (told, _) in loaded.items()}


def ids(said):
    return {found.check for found in said.found}


def one(said, check):
    (found,) = (each for each in said.found if each.check == check)
    return found


@pytest.mark.parametrize(("fault", "code", "wanted"), PLANTED)
def test_planted_fault_is_found_in_stored_rows(season, fault, code, wanted):
    assert wanted <= ids(season[code]), fault


@pytest.mark.parametrize("code", CLEAN)
def test_clean_batch_shows_no_planted_fault(season, code):
    planted = set().union(*(wanted for _, _, wanted in PLANTED))
    assert not ids(season[code]) & planted


def test_checks_of_planted_faults_could_look_in_clean_batches(season):
    """No finding is worth something only where the check had something to look at."""
    for code in ("B01", "B03", "B05"):
        assert {"no-initials", "cleaning-missing", "review-late"} <= set(
            season[code].ran
        )


def test_unsigned_rows_are_named_each_as_copied_from_paper(season):
    found = one(season["B04"], "no-initials")
    assert len(found.entries) == 3  # rows 3 to 5 of the cooling
    assert found.sentence == (
        "3 entries have no initials; 3 copied from paper that bears none."
    )


def test_round_left_out_is_named_by_its_day_and_moment(season):
    found = one(season["B07"], "cleaning-missing")
    assert found.sentence == "2025-07-08: no round of cleaning during work."


def test_schedule_is_new_for_its_first_batch_only(parts):
    # Plan 4 of the coho changed its schedule on 21 July; B10 is the first under it.
    # Before the third plans were on paper, so nobody knows of those.
    new = {code: told.is_new_schedule for code, told in parts.items()}
    assert [new[code] for code in ("B10", "B11", "B11R", "B12")] == [
        True, False, False, False,
    ]  # fmt: skip
    assert new["B01"] is None
    assert new["B03"] is False


def test_change_that_matters_was_followed_by_a_plan(parts, season):
    (change,) = parts["B12"].changes
    assert change.what.startswith("Recipe changed: Coho: soak of 12 hours")
    assert f"{change.reassessed_at:%Y-%m-%d}" == "2025-07-21"
    assert parts["B01"].changes == ()  # none yet, though changes are written down here
    assert "change-unassessed" in season["B12"].ran
