"""The table of roles: as the documents print it, and as the writes keep to it."""

import re

import pytest

from batches import lookups, models, recording, roles
from batches.errors import RecordError
from batches.lookups.reviews import batch_read
from tests import factories
from tests.batches.test_recording import mark
from tests.batches.test_releases import let_all_go, seen
from tests.factories import PASSWORD, START, at
from tests.house.tree import ROOT

pytestmark = pytest.mark.django_db

ROW = re.compile(r"^\| `(\w+)` \| (.+?) \| (.+) \|$", re.MULTILINE)


def test_the_documents_print_the_table_of_the_code():
    told = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("## Roles")[1]
    told = told.split("\n## ")[0]
    printed = {
        act: (words, [cell.strip() == "yes" for cell in cells.split("|")])
        for act, words, cells in ROW.findall(told)
    }
    assert printed == {
        name: (act.words, [role in act.roles for role in roles.ROLES])
        for name, act in roles.ACTS.items()
    }
    assert f"| {' | '.join(roles.ROLES)} |" in told


def test_the_roles_are_those_of_members():
    assert list(roles.ROLES) == models.Member.Role.values


def test_pages_ask_for_acts_that_exist():
    known = {*roles.ACTS, roles.ANYBODY, roles.LINK, None}
    assert {page.see for page in roles.PAGES.values()} <= known
    assert {page.do for page in roles.PAGES.values()} <= known


def test_whoever_may_send_may_see():
    for name, page in roles.PAGES.items():
        if page.do in roles.ACTS and page.see in roles.ACTS:
            assert roles.ACTS[page.do].roles <= roles.ACTS[page.see].roles, name


def test_owners_may_everything_and_inspectors_only_read():
    assert all(roles.may("owner", act) for act in roles.ACTS)
    assert {act for act in roles.ACTS if roles.may("inspector", act)} == {
        "read",
        "self",
        "trail",
    }


def read(batch, by):
    return recording.record_reading(
        batch,
        step="heating",
        quantity="core-temperature",
        value="145.0",
        unit="degF",
        occurred_at=START,
        by=by,
        at=START,
    )


def receive(batch, by):
    return recording.receive_lot(
        batch.producer,
        code="RL-9",
        food="coho-salmon",
        supplier="Windle Bar Fishers",
        received_at=START,
        mass_kg="3",
        by=by,
        at=START,
    )


def add_instrument(batch, by):
    return recording.add_instrument(
        batch.producer,
        code="P9",
        name="Probe",
        measures="temperature",
        unit="degF",
        check_every_days=7,
        by=by,
        at=START,
    )


def add_person(batch, by):
    return recording.add_member(
        batch.producer,
        name="Una Sorrel",
        initials="US",
        username="una",
        password=PASSWORD,
        role="maker",
        temperature_unit="degC",
        by=by,
        at=START,
    )


def release(batch, by):
    if not batch.deviations.exists():
        for minutes, edge in ((50, "start"), (60, "end")):
            mark(batch, "packing", edge, minutes=minutes)
        let_all_go(batch)
    return recording.release(
        batch,
        seen_sha256=seen(batch),
        password=PASSWORD,
        title=by.name,
        by=by,
        at=at(100),
    )


def review(batch, by):
    known = lookups.batch_of(batch.producer, batch.code)
    return recording.sign_review(
        batch,
        seen_sha256=batch_read(lookups.records_of(known)).sha256,
        password=PASSWORD,
        title=by.name,
        by=by,
        at=START,
    )


WRITES = {
    "self": lambda batch, by: recording.change_unit(
        temperature_unit="degC", by=by, at=START
    ),
    "record": read,
    "start": receive,
    "check": add_instrument,
    "release": release,
    "review": review,
    "product": lambda batch, by: recording.add_product(
        batch.producer, name="Trout", process="hot-smoked", by=by, at=START
    ),
    "plan": lambda batch, by: recording.start_plan(
        batch.product, premises=batch.premises, by=by, at=START
    ),
    "people": add_person,
    "links": lambda batch, by: recording.give_link(
        batch.producer, for_whom="N. N.", days=3, batch=batch, by=by, at=START
    ),
}


def test_every_act_that_writes_is_tried():
    assert set(WRITES) == set(roles.ACTS) - {"read", "trail"}


@pytest.mark.parametrize("role", roles.ROLES)
@pytest.mark.parametrize("act", WRITES)
def test_a_write_keeps_to_the_table(act, role):
    batch = factories.BatchFactory()
    member = factories.MemberFactory(producer=batch.producer, role=role)
    stranger = factories.MemberFactory(role=role)
    gone = factories.MemberFactory(producer=batch.producer, role=role, ended_at=at(-1))
    refused = [gone] if act == "self" else [gone, stranger]
    if roles.may(role, act):
        assert WRITES[act](batch, member)
    else:
        refused.append(member)
    for somebody in refused:
        with pytest.raises(RecordError) as told:
            WRITES[act](batch, somebody)
        assert told.value.code == "not-allowed"


def test_a_reviewer_takes_back_what_the_reviewer_said():
    batch = factories.BatchFactory()
    told = {"producer": batch.producer}
    reviewer = factories.MemberFactory(role="reviewer", **told)
    maker = factories.MemberFactory(role="maker", **told)
    review = factories.NamedDateFactory(batch=batch, what="record-review", by=reviewer)
    with pytest.raises(RecordError, match="Only owners and reviewers"):
        recording.withdraw(review, reason="wrong batch", by=maker, at=at(1))
    taken = recording.withdraw(review, reason="wrong batch", by=reviewer, at=at(1))
    assert taken.withdrawn
