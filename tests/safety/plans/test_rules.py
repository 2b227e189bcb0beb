"""Three-valued rules: doubt opens an answer, it never turns it round."""

from hypothesis import given
from hypothesis import strategies as st

from safety.facts import Answer
from safety.plans.known import Rule
from safety.plans.rules import both, decide

YES, NO, UNKNOWN = Answer.YES, Answer.NO, Answer.UNKNOWN


def rule(answer, why="", **when):
    return Rule(
        answer=answer,
        when={name.replace("_", "-"): values for name, values in when.items()},
        why=why,
        ask="Well?" if answer is UNKNOWN else "",
    )


FROZEN = rule(NO, "frozen", storage=("frozen",))
GUTTED = rule(NO, "gutted", eviscerated=("yes",))
ELSE = rule(YES, "else")


def test_the_first_rule_that_holds_answers():
    verdict = decide((FROZEN, ELSE), {"storage": "frozen"})
    assert (verdict.answer, verdict.why) == (NO, "frozen")
    assert verdict.rests_on == ("storage",)


def test_a_rule_that_is_contradicted_is_passed_over():
    assert decide((FROZEN, ELSE), {"storage": "ambient"}).answer is YES


def test_a_missing_fact_leaves_it_open_and_is_asked_for():
    verdict = decide((FROZEN, ELSE), {})
    assert verdict.answer is UNKNOWN
    assert verdict.missing == ("storage",)
    assert "How is the finished food kept?" in verdict.why


def test_a_missing_fact_that_changes_nothing_is_not_asked_for():
    verdict = decide((FROZEN, rule(NO, "never")), {})
    assert (verdict.answer, verdict.missing) == (NO, ())


def test_only_the_facts_that_could_change_it_are_asked_for():
    verdict = decide((FROZEN, GUTTED, ELSE), {"storage": "ambient"})
    assert verdict.missing == ("eviscerated",)


def test_what_only_a_person_can_decide_is_asked_once_the_facts_are_there():
    rules = (FROZEN, rule(UNKNOWN, "nobody knows"))
    assert decide(rules, {"storage": "ambient"}).ask == ("Well?",)
    assert decide(rules, {}).ask == ()
    assert decide(rules, {}).missing == ("storage",)


def test_both_is_no_as_soon_as_one_is():
    assert both(NO, UNKNOWN) is both(UNKNOWN, NO) is both(NO, YES) is NO
    assert both(YES, UNKNOWN) is both(UNKNOWN, UNKNOWN) is UNKNOWN
    assert both(YES, YES) is YES


NAMES = {
    "storage": ("refrigerated", "frozen", "ambient"),
    "eviscerated": ("yes", "no"),
    "packaging": ("air", "reduced-oxygen"),
}
CONDITIONS = st.fixed_dictionaries(
    {},
    optional={
        name: st.lists(st.sampled_from(values), min_size=1, unique=True).map(tuple)
        for name, values in NAMES.items()
    },
)
RULES = st.lists(
    st.builds(
        lambda answer, when: Rule(answer=answer, when=when, why="w"),
        st.sampled_from([YES, NO, UNKNOWN]),
        CONDITIONS,
    ),
    max_size=5,
).map(lambda rules: (*rules, ELSE))
FACTS = st.fixed_dictionaries(
    {}, optional={name: st.sampled_from(values) for name, values in NAMES.items()}
)


@given(rules=RULES, facts=FACTS, gone=st.sampled_from(sorted(NAMES)))
def test_a_fact_taken_away_opens_an_answer_but_never_turns_it_round(rules, facts, gone):
    before = decide(rules, facts).answer
    fewer = {name: value for name, value in facts.items() if name != gone}
    after = decide(rules, fewer).answer
    assert after in {before, UNKNOWN}


@given(rules=RULES, facts=FACTS)
def test_whatever_a_missing_fact_may_turn_out_to_be_the_answer_allowed_for_it(
    rules, facts
):
    open_answer = decide(rules, facts).answer
    for name, values in NAMES.items():
        if name not in facts:
            answers = {decide(rules, {**facts, name: value}).answer for value in values}
            if open_answer is not UNKNOWN:
                assert answers == {open_answer}
