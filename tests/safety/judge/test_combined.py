"""Alternatives and combinations: place by place where they can be, with one reason."""

from tests.safety.judge.documents import (
    COOL,
    finding,
    judged,
    limit,
    reading,
    window,
)


def member(number, kind="at_least", **more):
    entry = limit(kind, id=f"m{number}", **more)
    del entry["control_point"]
    return entry


def test_combination_met_says_by_which_alternative():
    whole = limit("any_of", limits=[member(1, value=200), member(2)])
    asked = {k: v for k, v in whole.items() if k not in {"quantity", "value", "unit"}}
    found = finding(limits=[asked])
    assert found.status.value == "met"
    assert found.why == (
        "Core temperature was 147 °F; the limit is at or above 145 °F. That is enough "
        "(Core temperature at or above 145 °F)."
    )


def combination(kind, *members):
    return {
        "id": "core",
        "control_point": "heating",
        "kind": kind,
        "limits": list(members),
    }


def test_combination_not_met_gives_the_reasons_of_what_decides():
    every = combination("all_of", member(1), member(2, value=200))
    found = finding(limits=[every])
    assert found.status.value == "missed"
    assert found.why.startswith(
        "All 2 are asked together, and one is missed: Core temperature was 147 °F at"
    )
    either = combination("any_of", member(1, value=200), member(2, "dwell_at_least"))
    found = finding(limits=[either], readings=[reading(60, 147)])
    assert found.status.value == "not shown"
    assert found.why.startswith(
        "None of 2 alternatives is shown to be met; of the first: Core temperature"
    )
    assert found.would_settle.startswith("A reading at or above 145 °F 30 min after")


def test_combination_met_by_all_says_so():
    every = combination("all_of", member(1), member(2, value=144))
    found = finding(limits=[every])
    assert found.status.value == "met"
    assert found.why == (
        "All 2 together are met; of the first: Core temperature was 147 °F; the limit "
        "is at or above 145 °F."
    )


def test_combination_missed_by_all_alternatives_says_so():
    either = combination("any_of", member(1, value=200), member(2, value=201))
    found = finding(limits=[either])
    assert found.status.value == "missed"
    assert found.why.startswith("None of 2 alternatives is met; of the first: Core")


def test_combination_of_what_does_not_apply_does_not_apply():
    cooling = {key: part for key, part in COOL.items() if key != "control_point"}
    found = finding(
        limits=[combination("any_of", cooling | {"id": "m"})],
        windows=[],
        readings=[reading(9, 60, step="cooling")],
    )
    assert found.status.value == "does not apply"
    assert found.would_settle == ""


def test_combination_of_one_series_is_made_place_by_place():
    names = ["heating", "cooling"]
    cooling = {key: part for key, part in COOL.items() if key != "control_point"}
    stages = [
        cooling | {"id": "m1", "steps": names},
        cooling | {"id": "m2", "steps": names[::-1]},
    ]
    found = judged(
        limits=[combination("all_of", *stages)],
        windows=[window(0, 60), window(60, 300, "cooling")],
        readings=[reading(150, 69, step="cooling", place=place) for place in "BA"],
    ).findings
    assert [each.place for each in found if each.limit_id == "core"] == ["A", "B"]


def test_combination_carries_the_cautions_of_its_members_once():
    either = combination("any_of", member(1), member(2, value=145.5))
    found = finding(limits=[either], readings=[reading(60, 146)])
    assert found.cautions == ("thin margin", "single reading")
    apart = combination(
        "all_of", member(1), {"id": "m2", "kind": "stated", "what": "x"}
    )
    found = finding(place=None, limits=[apart], readings=[reading(60, 146)])
    assert found.cautions == ("thin margin", "single reading")
