"""Printed tables and figures: what a look-up answers, what a copy takes over."""

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safety.errors import LimitFileError, Refused, UnknownName
from safety.facts import Answer
from safety.limits import catalogue, figure, figures, select, sources, table, tables
from safety.limits.load import load
from safety.limits.printed import as_range, parse_duration, parse_range

GUIDE = "us-fda.hazards-guide"
NUMBERS = st.decimals(-500, 20000, places=2)

HEAD = """
[source]
id           = "{id}"
publisher    = "Example Press"
title        = "Handbook of Invented Figures"
edition      = "first"
date         = 2026-01-01
standing     = "paper"
jurisdiction = "US"
{more}
"""
LIMIT = """
[[limit]]
id            = "{id}"
kind          = "at_least"
control_point = "packing"
quantity      = "water-phase-salt"
value         = 9.9
unit          = "percent"
section       = "Table 3"
words         = "The tray is salty."
reason        = "Invented."
basis         = "seen 1"
checked       = 2026-11-25
applies_when  = {{ process = ["pickled"] }}
programmes    = ["retail"]
"""


def written(folder: Path, **files: str):
    for name, text in files.items():
        (folder / f"{name}.toml").write_text(text, "utf-8")
    return load(folder)


def test_every_figure_and_table_carries_its_whole_source():
    assert len(figures()) > 100
    assert len(tables()) > 20
    for one in (*figures(), *tables()):
        assert one.source.cite().endswith(one.source.section)
        assert one.words.endswith("."), one.id
        assert one.id.startswith(one.source.id)
    assert {one.source.id for one in (*figures(), *tables())} <= {
        publication.id for publication in sources()
    }


def test_an_unknown_figure_or_table_is_refused():
    with pytest.raises(UnknownName, match=r"no figure called 'us-fda\.none'"):
        figure("us-fda.none")
    with pytest.raises(UnknownName, match=r"no table called 'us-fda\.none'"):
        table("us-fda.none")


@pytest.mark.parametrize(
    ("printed", "inside", "outside"),
    [
        ("<0.88", ["0.87", "-5"], ["0.88", "1"]),
        ("<=4.6", ["4.6"], ["4.61"]),
        (">0.92", ["0.921"], ["0.92"]),
        (">=24", ["24", "900"], ["23.99"]),
        ("0.88..0.90", ["0.88", "0.90"], ["0.879", "0.901"]),
        (">4.6..5.6", ["4.61", "5.6"], ["4.6", "5.61"]),
        ("15..<24", ["15", "23.9"], ["24", "14.9"]),
        ("-0.4..5", ["-0.4", "0"], ["-0.5"]),
        ("50..50", ["50"], ["49.9", "50.1"]),
        ("any", ["-1000", "1000"], []),
    ],
)
def test_a_range_means_what_it_prints(printed, inside, outside):
    found = parse_range(printed)
    assert all(found.holds(Decimal(value)) for value in inside)
    assert not any(found.holds(Decimal(value)) for value in outside)


@pytest.mark.parametrize("printed", ["", "5", "5..4", ">5..5", "5..<5", "<", "a..b"])
def test_what_is_no_range_is_none(printed):
    assert parse_range(printed) is None


@pytest.mark.parametrize(
    ("printed", "minutes"), [("5 d", 7200), ("2.5 h", 150), ("36 min", 36)]
)
def test_a_duration_in_minutes(printed, minutes):
    assert parse_duration(printed).minutes == minutes
    assert str(parse_duration(printed)) == printed


@pytest.mark.parametrize("printed", ["5", "5 days", "d", "5d"])
def test_what_is_no_duration_is_none(printed):
    assert parse_duration(printed) is None


@given(NUMBERS, st.sampled_from([one.id for one in tables()]), st.data())
def test_a_look_up_never_reads_beyond_the_rows_nor_between_them(value, identity, data):
    found = table(identity)
    at = {
        name: data.draw(st.sampled_from(sorted({row[name] for row in found.rows})))
        if found.by_name[name].holds == "text"
        else value
        for name in found.keys
    }
    row = found.look_up(at)
    if row is None:
        return
    for name in found.keys:
        if isinstance(at[name], str):
            assert row[name] == at[name]
            continue
        span = as_range(row[name])
        same = [
            as_range(other[name])
            for other in found.rows
            if all(other[k] == v for k, v in at.items() if isinstance(v, str))
        ]
        if span.holds(value):
            continue
        assert found.between_rows in {"row-below", "row-above"}
        lies_below = span.is_below(value)
        assert lies_below == (found.between_rows == "row-below")
        assert any(one.is_above(value) for one in same)
        assert any(one.is_below(value) for one in same)
        nearer = [
            one
            for one in same
            if one.is_below(value) == lies_below
            and (one.low > span.low if lies_below else one.high and one.high < span.low)
        ]
        assert nearer == []


@pytest.mark.parametrize(
    "at", [{}, {"celsius": 63, "fahrenheit": 145}, {"fahrenheit": 145}]
)
def test_a_look_up_by_other_keys_is_refused(at):
    with pytest.raises(UnknownName):
        table(f"{GUIDE}.table-a-3").look_up(at)


@pytest.mark.parametrize(
    ("identity", "at"),
    [
        (f"{GUIDE}.table-a-3", {"celsius": "63"}),
        (f"{GUIDE}.table-a-3", {"celsius": True}),
        (f"{GUIDE}.table-a-1", {"bacteria": 63}),
    ],
)
def test_a_value_of_another_kind_is_refused(identity, at):
    with pytest.raises(Refused):
        table(identity).look_up(at)


def test_a_copy_takes_figures_and_keeps_its_own_name_and_condition(tmp_path):
    copy = """
[[limit]]
id           = "example.handbook.bowl"
same_as      = "example.handbook.tray"
words        = "The bowl is salty."
applies_when = { process = ["dried"] }
programmes   = []
note         = "Comparison only."
"""
    found = written(
        tmp_path,
        a=HEAD.format(id="example.handbook", more="")
        + LIMIT.format(id="example.handbook.tray")
        + copy,
    ).limits
    bowl, tray = found["example.handbook.bowl"], found["example.handbook.tray"]
    assert bowl.limit.value == tray.limit.value == Decimal("9.9")
    assert bowl.source == tray.source
    assert (bowl.words, bowl.same_as) == ("The bowl is salty.", tray.limit.id)
    assert bowl.applies_when == {"process": ("dried",)}
    assert (bowl.programmes, tray.programmes) == ((), ("retail",))


@pytest.mark.parametrize("missing", ["section", "basis", "checked"])
def test_a_copy_in_another_publication_says_for_itself_where_it_stands(
    tmp_path, missing
):
    own = {"section": '"8"', "basis": '"seen 1"', "checked": "2026-11-25"}
    lines = "\n".join(f"{k} = {v}" for k, v in own.items() if k != missing)
    copy = f"""
[[limit]]
id      = "other.book.tray"
same_as = "example.handbook.tray"
{lines}
"""
    with pytest.raises(LimitFileError, match=f"lacks '{missing}'"):
        written(
            tmp_path,
            a=HEAD.format(id="example.handbook", more="")
            + LIMIT.format(id="example.handbook.tray"),
            b=HEAD.format(id="other.book", more="") + copy,
        )


def test_a_copy_known_from_memory_may_not_govern_either(tmp_path):
    copy = """
[[limit]]
id      = "other.book.tray"
same_as = "example.handbook.tray"
section = "8"
basis   = "memory"
checked = 2026-11-25
"""
    with pytest.raises(LimitFileError, match="known from memory only, but governs"):
        written(
            tmp_path,
            a=HEAD.format(id="example.handbook", more="")
            + LIMIT.format(id="example.handbook.tray"),
            b=HEAD.format(id="other.book", more="") + copy,
        )


def test_a_member_takes_the_figures_of_another_limit(tmp_path):
    either = """
[[limit]]
id            = "example.handbook.either"
kind          = "any_of"
control_point = "packing"
section       = "9"
words         = "Either."
reason        = "Invented."
basis         = "seen 1"
checked       = 2026-11-25
limits        = [
  { id = "letter", kind = "stated", what = "variance" },
  { id = "salt", same_as = "example.handbook.tray" },
]
"""
    found = written(
        tmp_path,
        a=HEAD.format(id="example.handbook", more="")
        + LIMIT.format(id="example.handbook.tray")
        + either,
    ).limits["example.handbook.either"]
    letter, salt = found.limit.limits
    assert (letter.what, salt.value, salt.id) == ("variance", Decimal("9.9"), "salt")
    assert salt.control_point is None


EDITION = 'chosen_by = { food-code = "%s" }'
COPIED = """
[[limit]]
id      = "code.new.tray"
same_as = "code.old.tray"
section = "8"
basis   = "seen 1"
checked = 2026-11-25
"""


@pytest.mark.parametrize(
    ("more", "same"), [("", True), ("value = 9.8\n", False), ("programmes = []\n", False)]
)  # fmt: skip
def test_only_what_is_alike_in_every_edition_needs_no_question(tmp_path, more, same):
    editions = written(
        tmp_path,
        a=HEAD.format(id="code.old", more=EDITION % 2017)
        + LIMIT.format(id="code.old.tray")
        + LIMIT.format(id="code.old.jug"),
        b=HEAD.format(id="code.new", more=EDITION % 2022) + COPIED + more,
    ).editions
    assert editions.originals == ({"code.old.tray"} if same else set())
    assert editions.copies == ({"code.new.tray"} if same else set())


def test_of_editions_that_differ_neither_is_left_out(tmp_path):
    found = written(
        tmp_path,
        a=HEAD.format(id="code.old", more=EDITION % 2017)
        + LIMIT.format(id="code.old.tray"),
        b=HEAD.format(id="code.new", more=EDITION % 2022) + COPIED + "value = 9.8\n",
    )
    facts = {"process": "pickled", "programme": "retail"}
    open_ones = select(facts, among=found)
    assert {one.published.limit.id for one in open_ones} == {
        "code.old.tray", "code.new.tray",
    }  # fmt: skip
    for one in open_ones:
        assert (one.applies, one.missing) == (Answer.UNKNOWN, ("food-code",))
    (only,) = select(facts | {"food-code": "2022"}, among=found)
    assert (only.published.limit.value, only.applies) == (Decimal("9.8"), Answer.YES)


def test_a_new_limit_is_one_entry_and_no_python(tmp_path):
    ours = Path(__file__).parents[2] / "safety" / "limits" / "data"
    for path in ours.glob("*.toml"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    state = tmp_path / "us_mi_r285_569.toml"
    entry = LIMIT.format(id="us-mi.r285-569.invented")
    state.write_text(state.read_text("utf-8") + entry, "utf-8")
    found = load(tmp_path)
    assert len(found.limits) == len(catalogue().limits) + 1
    facts = {"process": "pickled", "programme": "retail", "jurisdiction": "US-MI"}
    governing = {
        one.published.limit.id: one
        for one in select(facts, among=found)
        if one.governs is Answer.YES
    }
    added = governing["us-mi.r285-569.invented"]
    assert added.applies is Answer.YES
    assert added.published.source.cite().endswith("Table 3")
    elsewhere = select(facts | {"jurisdiction": "US-ME"}, among=found)
    assert all(
        one.governs is Answer.NO
        for one in elsewhere
        if one.published.limit.id == "us-mi.r285-569.invented"
    )


def test_a_new_table_is_one_entry_and_its_rows_can_be_limits(tmp_path):
    table_and_limit = """
[[table]]
id           = "example.handbook.heat"
section      = "6"
words        = "So hot, so long."
between_rows = "row-below"
keys         = ["celsius"]
columns = [
  { name = "celsius", title = "Temperature", unit = "degC" },
  { name = "minutes", title = "Minutes", unit = "min" },
]
rows    = [[60, 30], [65, 10], [70, ""]]
basis   = "seen 1"
checked = 2026-11-25

[[interval]]
id                      = "example"
check_every_min         = 10
check_every_ceiling_min = 20
section                 = "1.1"
words                   = "A reading at least every 10 minutes."
cannot_show             = "What happens in between."
reason                  = "Invented."
basis                   = "own"
checked                 = 2026-11-25

[[limit]]
id            = "example.handbook.heating"
kind          = "any_of"
control_point = "heating"
interval      = "example"
section       = "6"
words         = "Hot for long enough."
reason        = "Invented."
basis         = "seen 1"
checked       = 2026-11-25
rows_of       = { table = "example.handbook.heat", kind = "dwell_at_least", quantity = "core-temperature", value = "celsius", minutes = "minutes" }
"""
    found = written(
        tmp_path, a=HEAD.format(id="example.handbook", more="") + table_and_limit
    )
    heat = found.tables["example.handbook.heat"]
    assert heat.look_up({"celsius": 67})["minutes"] == 10
    assert heat.look_up({"celsius": 71}) is None
    assert heat.look_up({"celsius": 59}) is None
    members = found.limits["example.handbook.heating"].limit.limits
    assert [(one.id, one.value, one.minutes) for one in members] == [
        ("60-C", 60, 30), ("65-C", 65, 10),
    ]  # fmt: skip
    assert {one.check_every_min for one in members} == {10}
