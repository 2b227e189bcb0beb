"""Foods by their market names, each cell with how it is known."""

import re

import pytest

from safety.errors import UnknownName
from safety.facts import FACTS
from safety.foods import FOOD_FACTS, all_foods, facts_of, food, slug_of
from safety.limits import select

# Fish of the published species table, as a reader of it would count them.
ROWS = 153
NAMED_IN_THE_FORMAT = (
    "coho-salmon", "chinook-salmon", "halibut", "rainbow-trout", "lake-whitefish",
    "coho-salmon-aquacultured",
)  # fmt: skip


def test_every_row_of_the_species_table_is_a_food():
    assert len(all_foods()) == ROWS
    assert len({one.slug for one in all_foods()}) == ROWS


@pytest.mark.parametrize("slug", NAMED_IN_THE_FORMAT)
def test_names_of_the_batch_format_are_foods(slug):
    assert food(slug).slug == slug


def test_wild_ocean_fish_has_no_suffix_and_farmed_fish_has_one():
    for one in all_foods():
        assert one.slug.endswith("-aquacultured") is (one.origin == "aquacultured")
        assert one.facts["origin"] == one.origin


def test_wild_fish_was_not_raised_on_pellets_and_of_farmed_fish_nobody_knows():
    assert facts_of("coho-salmon")["pellet-fed"] == "no"
    assert "pellet-fed" not in facts_of("coho-salmon-aquacultured")


def test_another_name_is_the_same_food():
    assert food("steelhead") is food("rainbow-trout")
    assert food("whitefish") is food("lake-whitefish")
    assert slug_of("tullibee") == "lake-herring"
    assert slug_of("unheard-of-fish") == "unheard-of-fish"


def test_limits_of_a_food_hold_under_every_name_of_it():
    facts = {"process": "hot-smoked", "nitrite-added": "yes"}
    for name in ("lake-herring", "tullibee"):
        ids = {one.published.limit.id for one in select({**facts, "food": name})}
        assert "us-cfr.21-172.chub-salt" in ids


def test_every_cell_says_how_it_is_known():
    for one in all_foods():
        assert set(one.basis) >= set(FOOD_FACTS) - {"origin"}
        assert set(one.basis.values()) <= {"seen", "memory", "unconfirmed", "derived"}
        assert set(one.facts) - {"pellet-fed"} <= set(FOOD_FACTS) <= set(FACTS)
        for name, value in one.facts.items():
            FACTS[name].check(value)
        assert one.sources
        assert all(source.publisher and source.section for source in one.sources)


def test_what_lifts_a_hazard_and_could_not_be_confirmed_is_unknown():
    # Eulachon: the mark for chemicals of the waters is a guess of low confidence.
    assert food("eulachon").basis["environmental-chemicals"] == "unconfirmed"
    assert "environmental-chemicals" not in facts_of("eulachon")
    # Whitefish: an unconfirmed mark that adds a hazard stays.
    assert food("lake-whitefish").basis["parasites"] == "unconfirmed"
    assert facts_of("lake-whitefish")["parasites"] == "yes"
    unsure = [
        (one.slug, name)
        for one in all_foods()
        for name, basis in one.basis.items()
        if basis == "unconfirmed" and one.facts.get(name) in {"no", "none"}
    ]
    assert unsure == []


@pytest.mark.parametrize(
    ("slug", "name", "value"),
    [
        ("escolar", "natural-toxin", "gempylotoxin"),  # Table 3-1: GFP
        ("escolar", "scombrotoxin", "yes"),  # Table 3-1
        ("spanish-mackerel", "natural-toxin", "ciguatera"),  # Table 3-1: CFP
        ("basa-aquacultured", "aquaculture-drugs", "yes"),  # Table 3-1
        ("basa-aquacultured", "environmental-chemicals", "yes"),  # Table 3-1
        ("cod", "parasites", "yes"),  # Table 3-1
        ("grouper", "natural-toxin", "ciguatera"),  # Table 3-1
        ("sablefish-aquacultured", "parasites", "no"),  # changes of August 2019
        ("white-mullet", "natural-toxin", "amnesic"),  # changes of August 2019
        ("skate", "environmental-chemicals", "yes"),  # changes of August 2019
        ("almaco-jack", "scombrotoxin", "yes"),  # changes of August 2019
        ("atlantic-mackerel", "natural-toxin", "paralytic"),  # changes of August 2019
        ("coho-salmon", "natural-toxin", "none"),  # no code printed
        ("sablefish", "nitrite-permitted", "up-to-200"),  # 21 CFR 172.175
        ("skipjack-tuna", "nitrite-permitted", "up-to-10"),  # 21 CFR 172.175
        ("rainbow-trout", "nitrite-permitted", "no"),  # 21 CFR 172.175 names it not
    ],
)
def test_cells_that_were_read_in_the_text(slug, name, value):
    assert facts_of(slug)[name] == value
    assert food(slug).basis[name] == "seen"


@pytest.mark.parametrize(
    ("slug", "moisture", "fat", "entry"),
    [
        ("coho-salmon", "72.66", "5.93", "15081"),  # SR26, NDB 15081
        ("lake-whitefish", "72.77", "5.86", "15130"),  # SR26, NDB 15130
        ("atlantic-salmon-aquacultured", "64.89", "13.42", "15236"),  # SR26, NDB 15236
    ],
)
def test_composition_is_that_of_the_nutrient_table(slug, moisture, fat, entry):
    one = food(slug)
    assert (str(one.moisture_percent), str(one.fat_percent)) == (moisture, fat)
    assert any(entry in source.section for source in one.sources)


def test_a_food_without_an_entry_has_no_composition():
    assert food("lake-trout").moisture_percent is None
    assert "moisture" not in food("lake-trout").basis


def test_market_names_are_written_for_people():
    for one in all_foods():
        assert re.match(r"[A-Z][a-z]", one.market_name), one.market_name


def test_a_fish_that_is_not_listed_is_unknown_not_harmless():
    assert facts_of("unheard-of-fish") == {}
    with pytest.raises(UnknownName, match="no food called 'unheard-of-fish'"):
        food("unheard-of-fish")
