"""Guidance on the screen: what is found, what is said of it, and what applies."""

import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

from batches.views.guidance import PER_PAGE
from batches.views.guidance_search import counts, entries, found, known_filters
from safety.judge.listing import listing
from safety.limits.load import catalogue
from tests import factories

pytestmark = pytest.mark.django_db

HEATING = "us-fda.hazards-guide.ch13.heating"
SALT = "us-fda.hazards-guide.ch13.salt"
AFDO = "afdo.smoked-fish.heating"
COLD_SMOKED = "us-cfr.21-123.record-review-packing"
TABLE = "us-fda.food-code-2022.time-as-control"
COMBINED = "us-fda.hazards-guide.ch13.salt-with-nitrite"
QUERIES_OF_A_STRANGER = 0
QUERIES_OF_A_MEMBER = 3
QUERIES_OF_A_PRODUCT = 5


@pytest.fixture
def product():
    return factories.ProductFactory(name="Hot-smoked coho")


@pytest.fixture
def client(product):
    return member_of(product.producer)


def member_of(producer):
    factories.PremisesFactory(producer=producer, jurisdiction="US-MI")
    client = Client()
    client.force_login(factories.MemberFactory(producer=producer).user)
    return client


def says(response):
    """Return the text of a page, without its tags, on one line."""
    text = re.sub(r"<[^>]+>", " ", response.content.decode())
    return " ".join(unescape(text).split())


def browse(client=None, **asked):
    response = (client or Client()).get(reverse("guidance"), asked)
    assert response.status_code == 200
    return response


def linked(response):
    """Return the ids of the entries that a page links to, in its order."""
    return re.findall(r'href="/guidance/([^"/]+)/"', response.content.decode())


def part(response, slug):
    """Return the part of a product's page under one heading."""
    pages = response.content.decode()
    start = pages.index(f'id="{slug}"')
    end = pages.find('<h2 class="section"', start)
    return unescape(pages[start : end if end > 0 else None])


# ------------------------------------------------------------ browse


def test_a_stranger_browses_every_entry_page_by_page():
    seen, number = [], 1
    while True:
        response = browse(page=number)
        seen += linked(response)
        if f'"?page={number + 1}"' not in response.content.decode():
            break
        number += 1
    assert seen == [entry.id for entry in listing()]
    assert number == -(-len(seen) // PER_PAGE)


def test_a_page_keeps_what_was_asked():
    response = browse(q="smoked", page=2)
    assert "q=smoked&amp;page=1" in response.content.decode()


def test_a_publication_stands_above_its_entries():
    response = browse(q=HEATING)
    assert linked(response) == [HEATING]
    assert "Fish and Fishery Products Hazards and Controls Guidance" in says(response)
    assert "guidance · US" in says(response)


def test_the_frame_knows_a_stranger_and_a_member(client):
    strange = browse()
    assert reverse("sign-in") in strange.content.decode()
    assert reverse("batch-list") not in strange.content.decode()
    known = browse(client)
    assert reverse("batch-list") in known.content.decode()
    assert 'aria-current="page">Guidance' in strange.content.decode()
    assert reverse("more") in known.content.decode()
    for response in (strange, known):
        assert "is decided by your inspector" in says(response)


def test_a_figure_stands_in_its_row():
    entry = entries()["brinewright.own.saturation"]
    (words,) = entry.figures
    assert words not in entry.words
    assert words in says(browse(q=entry.id))


# ------------------------------------------------------------ search and filters


def test_all_the_words_must_be_said():
    many = {entry.id for entry in found({"q": "145"})}
    few = {entry.id for entry in found({"q": "145 dwell hot-smoked core"})}
    none = found({"q": "145 marmalade"})
    assert HEATING in many
    assert few < many
    assert none == []
    assert "Nothing was found" in says(browse(q="145 marmalade"))


@pytest.mark.parametrize(
    "words",
    ["145 °F", "145°f", "CORE temperature 62.8°C", "strategy 1 (smoking)", HEATING],
)
def test_a_limit_is_found_by_figure_unit_section_and_name(words):
    assert HEATING in {entry.id for entry in found({"q": words})}


def test_cells_of_tables_are_found():
    assert TABLE in {entry.id for entry in found({"q": "six-hours 70"})}


@pytest.mark.parametrize(
    ("name", "value"),
    [("standing", "law"), ("jurisdiction", "US-MI"), ("step", "cooling")],
)
def test_a_filter_leaves_what_its_count_says(name, value):
    left = found({name: value})
    assert 0 < len(left) < len(entries())
    assert counts({})[name][value] == len(left)
    words = says(browse(**{name: value}))
    assert f"{len(left)} of {len(entries())} entries" in words
    for entry in left:
        values = {
            "standing": [entry.source.standing],
            "jurisdiction": [entry.source.jurisdiction],
            "step": entry.places,
        }
        assert value in values[name]


def test_filters_and_words_narrow_together():
    wanted = {"q": "smoked", "standing": "rule", "step": "heating"}
    left = found(wanted)
    assert left
    for name in ("standing", "step"):
        assert counts(wanted)[name][wanted[name]] == len(left)
    assert counts(wanted)["standing"][""] == len(found({**wanted, "standing": ""}))


def test_every_entry_has_one_of_the_values_of_each_filter():
    for name, values in known_filters().items():
        assert {one.id for value in values for one in found({name: value})} == set(
            entries()
        )


def test_counts_stand_behind_the_choices():
    count = counts({"q": "smoked"})["standing"]["guidance"]
    assert f">guidance ({count})<" in browse(q="smoked").content.decode()


@pytest.mark.parametrize(
    "asked", [{"standing": "rumour"}, {"step": "x"}, {"q": "x" * 101}]
)
def test_what_cannot_be_asked_is_refused_and_finds_nothing(asked):
    response = browse(**asked)
    assert 'class="problem"' in response.content.decode()
    assert linked(response) == []


def test_what_was_typed_is_shown_as_text():
    response = browse(q='"><script>x</script>')
    assert "<script>x" not in response.content.decode()


@pytest.mark.parametrize("page", ["0", "-1", "999", "x"])
def test_a_page_that_is_not_there_is_the_nearest(page):
    assert linked(browse(page=page))


# ------------------------------------------------------------ one entry


def entry_page(identity, client=None):
    return (client or Client()).get(reverse("guidance-limit", args=[identity]))


@pytest.mark.parametrize("identity", [entry.id for entry in listing()])
def test_every_entry_has_a_page_with_its_whole_source(identity):
    response = entry_page(identity)
    entry = entries()[identity]
    assert response.status_code == 200
    words = says(response)
    source = entry.source
    for told in (
        entry.words,
        entry.reason,
        entry.note,
        source.publisher,
        source.title,
        source.section,
        source.edition,
        source.standing,
        f"Checked {entry.checked}.",
    ):
        assert " ".join(told.split()) in words
    for other in linked(response):
        assert other in entries()


def test_a_limit_says_what_is_compared_in_each_unit_and_what_it_applies_to():
    words = says(entry_page(HEATING))
    # FDA, Fish and Fishery Products Hazards and Controls, chapter 13: 145 °F (62.8 °C)
    assert "Core temperature at or above 145 °F for 30 min" in words
    assert "Core temperature at or above 62.8 °C for 30 min" in words
    assert "Process hot smoked" in words
    assert "Packaging yes (vacuum, modified atmosphere, oil)" in words
    assert "It governs the programme seafood processor (21 CFR 123) in US" in words
    assert "The publication asks for a continuous recorder." in words
    assert "Read in one place." in words


def test_an_interval_that_nobody_published_is_marked_as_our_own():
    response = entry_page(HEATING)
    assert "Our own figure, published by nobody." in says(response)
    assert "heating" in linked(response)
    assert "Our own figure, published by nobody." in says(entry_page("heating"))
    assert "Time between readings" not in says(entry_page(SALT))


def test_alternatives_are_shown_part_by_part():
    page = entry_page(COMBINED).content.decode()
    assert "Any one of these is enough" in page
    assert page.count("<ul>") == 2  # one of two, of which one asks for three
    assert "Water phase salt at or above 3.0 %" in page


def test_a_table_is_shown_with_its_heads_and_what_holds_between_rows():
    response = entry_page(TABLE)
    table = catalogue().tables[TABLE]
    page = response.content.decode()
    assert page.count("<th ") == len(table.columns)
    assert page.count("<tr>") == 1 + len(table.rows)
    assert "Never above, °F" in says(response)
    assert "Between two rows the table says nothing." in says(response)


def test_what_is_known_from_memory_says_so():
    remembered = next(entry for entry in listing() if entry.basis == "memory")
    assert "Look it up before you lean on it." in says(entry_page(remembered.id))


def test_an_entry_that_is_not_there_is_not_found():
    assert entry_page("us-fda.hazards-guide.none").status_code == 404


# ------------------------------------------------------------ one product


def product_page(product, client):
    return client.get(reverse("guidance-product", args=[product.pk]))


def test_a_product_s_limits_stand_under_what_the_facts_say(product, client):
    response = product_page(product, client)
    assert response.status_code == 200
    for slug, identity in (
        ("applies", HEATING),
        ("may-apply", SALT),
        ("comparison", AFDO),
        ("does-not-apply", COLD_SMOKED),
    ):
        assert f"/guidance/{identity}/" in part(response, slug)
    assert sorted(linked(response)) == sorted(catalogue().limits)


def test_a_missing_fact_is_named_and_the_reason_given(product, client):
    response = product_page(product, client)
    assert "Is nitrite added to the cure?" in part(response, "may-apply")
    assert "process is hot-smoked" in part(response, "applies")
    assert "process is hot-smoked" in part(response, "does-not-apply")
    assert "What would settle more" in says(response)


def test_an_answered_fact_moves_a_limit(product, client):
    product.facts = {"nitrite-added": "no"}
    product.save()
    assert f"/guidance/{SALT}/" in part(product_page(product, client), "applies")
    product.facts = {"nitrite-added": "yes"}
    product.save()
    response = product_page(product, client)
    assert f"/guidance/{SALT}/" in part(response, "does-not-apply")


def test_without_a_programme_nothing_is_said_to_apply(product, client):
    product.programme = ""
    product.save()
    response = product_page(product, client)
    assert linked_in(part(response, "applies")) == []
    assert HEATING in linked_in(part(response, "may-apply"))
    assert "Under which rules do you work?" in part(response, "may-apply")


def linked_in(page):
    return re.findall(r'href="/guidance/([^"/]+)/"', page)


def test_rules_of_another_state_are_comparisons(product, client):
    response = product_page(product, client)
    comparison = set(linked_in(part(response, "comparison")))
    governing = {
        *linked_in(part(response, "applies")),
        *linked_in(part(response, "may-apply")),
    }
    states = {
        identity: limit.source.jurisdiction
        for identity, limit in catalogue().limits.items()
    }
    assert {states[one] for one in governing} <= {"US", "US-MI"}
    assert "US-NY" in {states[one] for one in comparison}


def test_a_product_of_another_producer_is_not_found(client):
    theirs = factories.ProductFactory()
    assert product_page(theirs, client).status_code == 404
    assert product_page(theirs, member_of(theirs.producer)).status_code == 200


def test_a_stranger_is_sent_to_sign_in(product):
    response = product_page(product, Client())
    assert response.status_code == 302
    assert response["Location"].startswith(reverse("sign-in"))


def test_the_products_lead_to_their_guidance(product, client):
    page = client.get(reverse("product-list")).content.decode()
    assert reverse("guidance-product", args=[product.pk]) in page


# ------------------------------------------------------------ queries


def test_few_queries(product, client, django_assert_num_queries):
    with django_assert_num_queries(QUERIES_OF_A_STRANGER):
        browse(q="smoked")
        entry_page(HEATING)
    with django_assert_num_queries(QUERIES_OF_A_MEMBER):
        browse(client, q="smoked")
    with django_assert_num_queries(QUERIES_OF_A_MEMBER):
        entry_page(HEATING, client)
    with django_assert_num_queries(QUERIES_OF_A_PRODUCT):
        product_page(product, client)
