"""Published plans beside the plans that we draft: the same, or the reason is written.

These tests fail when either side changes: the model's rows are kept as they were read,
with their figures; ours must be found word by word, and whatever ours has more must be
listed.
"""

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from safety.limits import figure, get
from safety.plans import draft
from safety.plans.analysed import WORDS

HERE = Path(__file__).parent / "models"
PRINTED = {
    "point", "limit", "what", "how", "how_often", "who", "action", "record",
    "verification",
}  # fmt: skip
WATCH = ("what", "how", "how_often", "who", "record")
LEAST = {"table_13_1": 8, "great_lakes_2000": 5, "cold_smoked": 12}


def models():
    return [
        pytest.param(
            tomllib.loads(path.read_text("utf-8"), parse_float=Decimal), id=path.stem
        )
        for path in sorted(HERE.glob("*.toml"))
    ]


every_model = pytest.mark.parametrize("model", models())


def points_of(model):
    return {f"{p.step}/{p.control_point}": p for p in draft(model["facts"]).points}


def rows():
    for param in models():
        model = param.values[0]
        for number, row in enumerate(model["row"], 1):
            yield pytest.param(model, row, id=f"{param.id} {number}")


def test_the_models_are_there_whole():
    for name, least in LEAST.items():
        (model,) = [param.values[0] for param in models() if param.id == name]
        assert len(model["row"]) >= least


@pytest.mark.parametrize(("model", "row"), list(rows()))
def test_row_of_the_model_is_in_the_draft_or_the_difference_is_written(model, row):
    assert set(row["printed"]) <= PRINTED
    point = points_of(model)[row["point"]]
    assert WORDS[point.critical] == "yes"
    watched = [{key: getattr(one, key) for key in WATCH} for one in point.monitoring]
    assert row["watch"] in watched
    assert set(row["act"]) <= {*point.if_not_met, *point.put_right}
    (same,) = [one for one in point.monitoring if one.what == row["watch"]["what"]]
    for words in row["verify"]:
        assert words in same.verification


@pytest.mark.parametrize(("model", "row"), list(rows()))
def test_figures_of_the_row_are_those_of_the_data(model, row):
    point = points_of(model)[row["point"]]
    by_what = {factor.what: factor for factor in point.study}
    if "study" in row:
        factor = by_what[row["study"]]
        named = row.get("figure", row.get("limit", {})).get("id", "")
        assert not named or factor.example == named
    if "figure" in row:
        ours = figure(row["figure"]["id"])
        assert (ours.value, ours.unit) == (
            row["figure"]["value"],
            row["figure"]["unit"],
        )
        assert str(row["figure"]["value"]) in row["printed"]["limit"]
    if "limit" in row:
        found = {one.published.limit.id: one for one in point.limits}
        ours = found[row["limit"]["id"]]
        assert ours.role.value == row["limit"].get("role", "comparison")
        for key in set(row["limit"]) - {"id", "role"}:
            assert getattr(get(row["limit"]["id"]).limit, key) == row["limit"][key]


@every_model
def test_whatever_no_published_figure_sets_differs_with_a_reason(model):
    for row in model["row"]:
        if "limit" in row and row["limit"].get("role") == "strictest":
            continue
        point = points_of(model)[row["point"]]
        assert row.get("difference") or "study" in row or point.must


@every_model
def test_whatever_the_draft_has_more_is_listed_with_its_reason(model):
    points = points_of(model)
    critical = {name for name, one in points.items() if WORDS[one.critical] != "no"}
    in_rows = {row["point"] for row in model["row"]}
    extra = [one for one in model.get("ours_only", []) if "watch" not in one]
    assert all(one["reason"] for one in model.get("ours_only", []))
    assert critical == in_rows | {one["point"] for one in extra}
    assert not in_rows & {one["point"] for one in extra}
    for name in in_rows:
        watched = sorted(one.what for one in points[name].monitoring)
        told = [row["watch"]["what"] for row in model["row"] if row["point"] == name]
        told += [
            one["watch"]
            for one in model.get("ours_only", [])
            if one["point"] == name and "watch" in one
        ]
        assert watched == sorted(told)


@every_model
def test_hazards_of_which_the_model_reminds_have_their_answer(model):
    analysis = draft(model["facts"]).analysis
    for identity, expected in model["other_hazards"].items():
        assert WORDS[analysis.hazard(identity).significant] == expected, identity
