"""Facts are closed lists, and what nobody recorded is unknown, not false."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import InputError, UnknownName
from safety.facts import (
    FACTS,
    FURTHER_FACTS,
    PRODUCT_FACTS,
    Answer,
    fact,
    holds,
)

CLOSED = {name: known.values for name, known in FACTS.items() if known.values}


@st.composite
def condition_and_facts(draw):
    condition = draw(
        st.dictionaries(st.sampled_from(sorted(CLOSED)), st.none(), max_size=4)
    )
    for name in condition:
        values = st.lists(st.sampled_from(CLOSED[name]), min_size=1, unique=True)
        condition[name] = tuple(draw(values))
    known = draw(st.sets(st.sampled_from(sorted(CLOSED))))
    return condition, {name: draw(st.sampled_from(CLOSED[name])) for name in known}


def test_all_that_is_asked_holds():
    asked = {"process": ("hot-smoked",), "storage": ("refrigerated", "frozen")}
    facts = {"process": "hot-smoked", "storage": "frozen", "packaging": "air"}
    assert holds(asked, facts) == (Answer.YES, ())


def test_a_missing_fact_is_unknown_and_named():
    asked = {"process": ("hot-smoked",), "storage": ("frozen",)}
    assert holds(asked, {"process": "hot-smoked"}) == (Answer.UNKNOWN, ("storage",))


def test_one_contradiction_is_enough_whatever_else_is_missing():
    asked = {"process": ("hot-smoked",), "storage": ("frozen",)}
    assert holds(asked, {"storage": "ambient"}) == (Answer.NO, ("storage",))


def test_a_condition_that_asks_nothing_always_holds():
    assert holds({}, {}) == (Answer.YES, ())


@given(condition_and_facts(), st.sampled_from(sorted(CLOSED)), st.data())
def test_one_more_fact_settles_but_never_overturns(drawn, name, data):
    condition, facts = drawn
    before, _ = holds(condition, facts)
    more = {name: data.draw(st.sampled_from(CLOSED[name])), **facts}
    after, _ = holds(condition, more)
    assert before is Answer.UNKNOWN or after is before


def test_closed_facts_refuse_what_is_not_in_their_list():
    fact("packaging").check("reduced-oxygen")
    with pytest.raises(
        UnknownName, match=r"no value of packaging called 'vacuum'.*air"
    ):
        fact("packaging").check("vacuum")


@pytest.mark.parametrize(
    ("name", "value"),
    [("food", "coho-salmon"), ("jurisdiction", "US"), ("jurisdiction", "US-MI")],
)
def test_open_facts_accept_what_is_well_written(name, value):
    fact(name).check(value)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("food", "Coho Salmon"),
        ("food", ""),
        ("food", "-salmon"),
        ("jurisdiction", "Michigan"),
        ("jurisdiction", "us-mi"),
        ("jurisdiction", "US-"),
    ],
)
def test_open_facts_refuse_what_is_not(name, value):
    with pytest.raises(InputError, match="cannot be written"):
        fact(name).check(value)


def test_an_unknown_fact_is_refused():
    with pytest.raises(UnknownName, match="no fact called 'smoked'"):
        fact("smoked")


def test_each_fact_has_a_title_and_a_question():
    assert set(FACTS) == set(PRODUCT_FACTS) | set(FURTHER_FACTS)
    for known in FACTS.values():
        assert known.title
        assert known.question.endswith("?")
