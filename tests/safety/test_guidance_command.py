"""``guidance`` on the command line: all that is known, and what of it applies."""

import io
import itertools
import json
from contextlib import redirect_stdout
from datetime import date
from decimal import Decimal
from importlib.resources import files

import pytest
from django.core.management import call_command

from safety.facts import Answer
from safety.judge.listing import cell_words, figure_words, for_product, listing
from safety.limits.load import catalogue, load

PRODUCT = {
    "name": "Hot-smoked coho", "food": "coho-salmon", "process": "hot-smoked",
    "packaging": "reduced-oxygen", "storage": "refrigerated",
    "programme": "seafood-processor",
}  # fmt: skip
HEATING = "us-fda.hazards-guide.ch13.heating"
SALT = "us-fda.hazards-guide.ch13.salt"
AFDO = "afdo.smoked-fish.heating"
COLD_SMOKED = "us-cfr.21-123.record-review-packing"


def run(*options):
    out = io.StringIO()
    with redirect_stdout(out):
        call_command("guidance", *options, stdout=out)
    return out.getvalue()


def product_file(tmp_path, product=PRODUCT):
    path = tmp_path / "FACTS.json"
    path.write_text(json.dumps(product), "utf-8")
    return str(path)


def refused(*options):
    out = io.StringIO()
    with pytest.raises(SystemExit) as caught:
        call_command("guidance", *options, stdout=out)
    return caught.value.code, out.getvalue()


def as_json(*options):
    return json.loads(run(*options, "--json"), parse_float=Decimal)


def by_id(document):
    return {entry["id"]: entry for entry in document["entries"]}


# ------------------------------------------------------------ the whole list


def test_json_holds_every_entry_once_with_its_whole_source():
    document = as_json()
    ids = [entry["id"] for entry in document["entries"]]
    known = catalogue()
    defaults = [one.published.limit.id for one in known.defaults.values()]
    assert document["format"] == "brinewright.guidance/1"
    assert sorted(ids) == sorted([
        *known.limits, *known.figures, *known.tables, *known.intervals, *defaults,
    ])  # fmt: skip
    for entry in document["entries"]:
        assert entry["words"]
        assert entry["basis"]
        assert date.fromisoformat(entry["checked"])
        for part in ("publisher", "title", "section", "edition", "standing"):
            assert entry["source"][part]


def test_json_keeps_the_digits_of_every_printed_unit():
    heating = by_id(as_json())[HEATING]
    # FDA, Fish and Fishery Products Hazards and Controls, chapter 13: 145 °F (62.8 °C)
    assert heating["limit"]["value"] == 145
    assert heating["limit"]["printed_also"] == {
        "value": Decimal("62.8"),
        "unit": "degC",
    }
    assert heating["interval"] == "heating"
    assert heating["interval_basis"].startswith("own:")
    assert [words.split(" for ")[0] for words in heating["compared"]["words"]] == [
        "Core temperature at or above 145 °F",
        "Core temperature at or above 62.8 °C",
    ]


def test_words_name_every_entry_and_who_decides():
    # lines are folded, never inside a name
    words = " ".join(run().split())
    for entry in listing():
        assert f"{entry.kind} {entry.id}]" in words
    assert "is decided by the inspector" in words


def test_publications_stand_together_and_law_before_guidance():
    sources = [entry.source.id for entry in listing()]
    changes = sum(a != b for a, b in itertools.pairwise(sources))
    assert changes == len(set(sources)) - 1
    standings = [entry.source.standing for entry in listing()]
    assert standings.index("guidance") > max(
        place for place, standing in enumerate(standings) if standing == "law"
    )


def test_a_table_is_listed_row_by_row():
    words = " ".join(run().split())
    table = next(iter(catalogue().tables.values()))
    for row in table.rows:
        for cell in row.values():
            assert cell_words(cell) in words


def test_a_figure_is_said_in_every_printed_unit():
    for figure in catalogue().figures.values():
        assert len(figure_words(figure)) == 1 + len(figure.also)
        assert str(figure.value) in figure_words(figure)[0]


# ------------------------------------------------------------ one product


def test_a_product_gets_every_limit_with_the_reason(tmp_path):
    document = as_json("--product", product_file(tmp_path))
    found = by_id(document)
    limits = [entry for entry in document["entries"] if entry["kind"] == "limit"]
    assert len(limits) == len(catalogue().limits)
    assert all(entry["why"] for entry in limits)
    assert document["facts"]["food"] == "coho-salmon"
    heating = found[HEATING]
    assert (heating["applies"], heating["governs"]) == ("yes", "yes")
    assert heating["missing"] == []
    salt = found[SALT]
    assert (salt["applies"], salt["missing"]) == ("unknown", ["nitrite-added"])
    assert (found[AFDO]["applies"], found[AFDO]["governs"]) == ("yes", "no")
    other = found[COLD_SMOKED]
    assert (other["applies"], other["missing"]) == ("no", [])
    assert "process is hot-smoked" in other["why"]


def test_words_sort_a_product_s_limits(tmp_path):
    words = run("--product", product_file(tmp_path))
    heads = (
        "Applies and governs",
        "May apply: facts are missing",
        "For comparison: does not govern here",
        "Does not apply",
    )
    starts = [words.index(f"{head}\n") for head in heads]
    assert starts == sorted(starts)
    flat = [" ".join(part.split()) for part in _between(words, starts)]
    for part, identity in zip(flat, (HEATING, SALT, AFDO, COLD_SMOKED), strict=True):
        assert f"limit {identity}]" in part
    assert "missing: nitrite-added: Is nitrite added to the cure?" in flat[1]


def _between(words, starts):
    ends = [*starts[1:], len(words)]
    return [words[start:end] for start, end in zip(starts, ends, strict=True)]


def test_a_product_of_which_nothing_is_known_loses_no_limit_of_unknown_facts(tmp_path):
    document = as_json("--product", product_file(tmp_path, {}))
    limits = [entry for entry in document["entries"] if entry["kind"] == "limit"]
    said_no = [entry for entry in limits if entry["applies"] == "no"]
    # only copies for another edition, which say the same as their originals
    assert all("it says the same as" in entry["why"] for entry in said_no)
    assert by_id(document)[HEATING]["missing"] == ["process", "packaging", "programme"]


def test_without_a_programme_nothing_is_said_to_govern():
    facts = {name: value for name, value in PRODUCT.items() if name != "programme"}
    found = for_product(facts)
    assert found.applies == ()
    assert HEATING in {one.entry.id for one in found.may_apply}


def test_a_limit_that_is_not_in_force_does_not_apply(tmp_path):
    identity = "us-cfr.21-123.record-review"
    text = files("safety.limits").joinpath("data", "us_cfr_21_123.toml").read_text()
    head = f'"{identity}"\n'
    assert text.count(head) > 0
    text = text.replace(head, f"{head}since = 2027-01-01\n", 1)
    (tmp_path / "later.toml").write_text(text, "utf-8")
    among = load(tmp_path)
    before, after = (
        next(
            one
            for one in for_product(PRODUCT, on=day, among=among)
            if one.entry.id == identity
        )
        for day in (date(2026, 12, 31), date(2027, 1, 1))
    )
    assert before.applies is Answer.NO
    assert "not in force on 2026-12-31" in before.why
    assert after.applies is Answer.YES


# ------------------------------------------------------------ refusals


@pytest.mark.parametrize(
    ("text", "pointer", "says"),
    [
        ('{"packaging": "vacuum"}', "/packaging", "air, reduced-oxygen"),
        ('{"facts": {"eviscerated": true}}', "/facts/eviscerated", "yes, no"),
        ('{"process": "raw", "process": "dried"}', "/process", "each key once"),
        ("[]", "", "an object"),
        ("{", "", "a JSON document"),
    ],
)
def test_a_product_that_is_unclear_is_refused(tmp_path, text, pointer, says):
    path = tmp_path / "FACTS.json"
    path.write_text(text, "utf-8")
    code, out = refused("--product", str(path), "--json")
    error = json.loads(out)["error"]
    assert code == 3
    assert error["pointer"] == pointer
    assert says in error["allowed"]
    code, out = refused("--product", str(path))
    assert code == 3
    assert "unreadable" in out


def test_a_file_that_is_not_there_is_refused(tmp_path):
    code, out = refused("--product", str(tmp_path / "none.json"))
    assert code == 3
    assert "a file that can be read" in out
