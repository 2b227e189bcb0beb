"""The hazards of a process agree with the guide's own table of them, read by hand.

FDA, Fish and Fishery Products Hazards and Controls Guidance, 4th edition, Table 3-4:
which chapters a finished food is marked for. Written from the table, not from the data.
"""

import pytest

from safety.facts import Answer
from safety.plans import analyse

ALWAYS = {
    19,
    20,
    21,
}  # fish is an allergen; metal and glass where machines and glass are
MARKED = {
    ("hot-smoked", "reduced-oxygen"): {12, 13, 16} | ALWAYS,
    ("hot-smoked", "air"): {12, 16} | ALWAYS,
    ("cold-smoked", "reduced-oxygen"): {12, 13} | ALWAYS,
    ("cold-smoked", "air"): {12} | ALWAYS,
    ("dried", "reduced-oxygen"): {13, 14} | ALWAYS,
    ("dried", "air"): {14} | ALWAYS,
    ("pickled", "reduced-oxygen"): {12, 13} | ALWAYS,
    ("pickled", "air"): {12, 13} | ALWAYS,
    ("raw", "reduced-oxygen"): {12, 13} | ALWAYS,
    ("raw", "air"): {12} | ALWAYS,
}
HAZARDS = {
    12: ("growth-in-raw-fish", "growth-in-cooling", "growth-in-handling",
         "growth-in-store"),
    13: ("botulism", "botulism-guts"),
    14: ("staphylococcus-in-drying",),
    16: ("survival-of-cook",),
    19: ("fish-allergen",),
    20: ("metal",),
    21: ("glass",),
}  # fmt: skip
OF_ONE_PROCESS = {13, 14, 16}  # the others may arise anywhere
FACTS = {
    "food": "coho-salmon",
    "storage": "refrigerated",
    "programme": "seafood-processor",
    "eviscerated": "yes",
    "nitrite-added": "no",
    "handled-after-cooking": "yes",
    "heated-in-package": "no",
    "metal-machines": "yes",
    "glass-package": "yes",
    "intended-use": "ready-to-eat",
}


def arising(process, packaging, **changes):
    facts = FACTS | {"process": process, "packaging": packaging} | changes
    return {h.id for h in analyse(facts).hazards if h.potential is Answer.YES}


@pytest.mark.parametrize(("made", "chapters"), MARKED.items())
def test_food_has_the_hazards_that_the_table_marks(made, chapters):
    found = arising(*made)
    for chapter in chapters:
        assert found & set(HAZARDS[chapter]), chapter
    for chapter in OF_ONE_PROCESS - chapters:
        assert not found & set(HAZARDS[chapter]), chapter


def test_dried_fish_with_its_guts_in_is_marked_in_any_package():
    assert "botulism-guts" in arising("dried", "air", eviscerated="no")
