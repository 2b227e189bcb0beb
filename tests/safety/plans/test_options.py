"""What may be done about a deviation: every control point, cited or our own; bad files."""

import re
from pathlib import Path

import pytest

from safety.controls import CONTROL_POINTS
from safety.errors import PlanFileError
from safety.plans.options import (
    KINDS,
    load,
    load_prompts,
    options_for,
    prompts,
    triggers,
)

BASIS = re.compile(r"seen [1-9]|memory|own")
ANY = "unforeseen"

GOOD = """
[[publication]]
id = "a.plan"
publisher = "A"
title = "B"
edition = "C"

[[trigger]]
id = "one"
control_points = ["cooling"]
title = "Too slow"
who_decides = "owner"

[[trigger.option]]
kind = "destroy"
words = "Destroy it."
publication = "a.plan"
section = "D"
basis = "seen 1"
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "fish.toml"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize("name", CONTROL_POINTS)
def test_every_control_point_has_options_of_its_own(name):
    found = options_for(name)
    assert found[0].id != ANY
    assert found[-1].id == ANY


def test_without_a_control_point_what_fits_any_is_left():
    assert [one.id for one in options_for("")] == [ANY]


@pytest.mark.parametrize("trigger", triggers(), ids=lambda one: one.id)
def test_options_are_cited_or_our_own(trigger):
    for option in trigger.options:
        assert option.kind in KINDS
        assert BASIS.fullmatch(option.basis)
        assert bool(option.source) == (option.basis != "own")


@pytest.mark.parametrize("trigger", triggers(), ids=lambda one: one.id)
def test_options_repeat_no_figure_of_a_limit(trigger):
    words = [option.words for option in trigger.options]
    words += [*trigger.at_once, *trigger.write, *trigger.prevention, trigger.title]
    assert not re.search(r"\d", " ".join(words))


def test_the_law_is_cited_for_what_no_plan_foresaw():
    # 21 CFR 123.7(c): segregate and hold, review, act on the food, act on the cause
    (trigger,) = options_for("")
    assert "123.7 (c)" in trigger.options[0].source
    assert trigger.at_once == ("Segregate and hold the food.",)


def test_causes_are_asked_for_in_six_ways():
    assert len(prompts()) == 6
    assert all(prompt.asks.endswith("?") for prompt in prompts())


def test_small_file_is_read(tmp_path):
    (trigger,) = load(written(tmp_path, GOOD))
    assert trigger.options[0].source == "A, B, D, C"


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('["cooling"]', '["grilling"]', "control_points = 'grilling'"),
        ('kind = "destroy"', 'kind = "eat"', "kind = 'eat'"),
        ('publication = "a.plan"', 'publication = "b"', "publication = 'b'"),
        ('basis = "seen 1"', 'basis = "own"', "has basis = 'own' and a publication"),
        ('section = "D"\n', "", "section = None"),
        ('title = "Too slow"', 'title = ""', "title = ''"),
        ('who_decides = "owner"', "colour = 1", "unknown key 'colour'"),
        ('words = "Destroy it."', "", "words = None"),
        ("[[trigger]]", "[[triggers]]", "unknown key 'triggers'"),
        ('id = "a.plan"', 'id = "us-cfr.21-123"', "repeats us-cfr.21-123"),
        ("[[trigger.option]]", "[[trigger.options]]", "unknown key 'options'"),
        ('title = "B"', "title = [", "is not TOML"),
    ],
)
def test_file_that_is_wrong_in_one_way_is_refused(tmp_path, old, new, says):
    assert old in GOOD
    with pytest.raises(PlanFileError) as caught:
        load(written(tmp_path, GOOD.replace(old, new)))
    assert says in str(caught.value)
    assert caught.value.remedy


def test_id_that_stands_twice_is_refused(tmp_path):
    twice = GOOD + GOOD[GOOD.index("[[trigger]]") :]
    with pytest.raises(PlanFileError, match="stands twice"):
        load(written(tmp_path, twice))


def test_trigger_without_an_option_is_refused(tmp_path):
    with pytest.raises(PlanFileError, match="has no option"):
        load(written(tmp_path, GOOD[: GOOD.index("[[trigger.option]]")]))


def test_option_without_publication_and_basis_of_a_print_is_refused(tmp_path):
    bare = GOOD.replace('publication = "a.plan"\nsection = "D"\n', "")
    with pytest.raises(PlanFileError, match="no publication"):
        load(written(tmp_path, bare))


def test_prompt_with_an_unknown_key_is_refused(tmp_path):
    text = '[[prompt]]\nname = "A"\nasks = "B?"\nbasis = "own"\nx = 1\n'
    with pytest.raises(PlanFileError, match="unknown key 'x'"):
        load_prompts(written(tmp_path, text))
