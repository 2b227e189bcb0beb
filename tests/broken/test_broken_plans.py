"""Every file of foods or hazards that is wrong in one way is refused, with a remedy."""

import shutil
from pathlib import Path

import pytest

from safety.errors import FoodFileError, PlanFileError
from safety.foods.load import SOURCES, TABLE
from safety.foods.load import load as load_foods
from safety.plans.load import load as load_plans
from tests.house.tree import ROOT

HERE = Path(__file__).parent
OWN_SOURCES = ROOT / "safety" / "foods" / "data" / SOURCES
SAYS = "# says: "


def files_of(kind, suffix):
    return sorted((HERE / kind).glob(f"*.{suffix}"))


def said_of(path):
    first = path.read_text("utf-8").splitlines()[0]
    assert first.startswith(SAYS)
    return first.removeprefix(SAYS)


def test_there_is_a_file_for_every_mistake():
    assert len(files_of("foods", "csv")) >= 19
    assert len(files_of("plans", "toml")) >= 39


@pytest.mark.parametrize("path", files_of("foods", "csv"), ids=lambda path: path.stem)
def test_broken_table_of_foods_is_refused(path, tmp_path):
    shutil.copy(path, tmp_path / TABLE)
    shutil.copy(OWN_SOURCES, tmp_path)
    with pytest.raises(FoodFileError) as caught:
        load_foods(tmp_path)
    assert str(caught.value).startswith(said_of(path))
    assert caught.value.file == TABLE
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('[table-3-2]\npublisher = "A"\n', "source 'table-3-2': is not complete"),
        ("[table-3-2\n", "the file: cannot be read"),
        (None, "the file: cannot be read"),
    ],
    ids=["not complete", "not TOML", "not there"],
)
def test_broken_sources_of_foods_are_refused(text, says, tmp_path):
    shutil.copy(ROOT / "safety" / "foods" / "data" / TABLE, tmp_path)
    if text is not None:
        (tmp_path / SOURCES).write_text(text, "utf-8")
    with pytest.raises(FoodFileError) as caught:
        load_foods(tmp_path)
    assert str(caught.value).startswith(f"{SOURCES}, {says}")


@pytest.mark.parametrize("path", files_of("plans", "toml"), ids=lambda path: path.stem)
def test_broken_file_of_hazards_is_refused(path, tmp_path):
    shutil.copy(path, tmp_path / "hazards.toml")
    with pytest.raises(PlanFileError) as caught:
        load_plans(tmp_path)
    assert str(caught.value).startswith(said_of(path))
    assert caught.value.remedy


def test_a_hazard_given_in_two_files_is_refused(tmp_path):
    whole = (HERE / "plans" / "hazard-twice.toml").read_text("utf-8")
    once = whole[: whole.rindex("[[hazard]]")]
    for name in ("a.toml", "b.toml"):
        (tmp_path / name).write_text(once, "utf-8")
    with pytest.raises(PlanFileError, match=r"b\.toml, hazard 'draught': stands twice"):
        load_plans(tmp_path)


def test_other_files_in_the_folder_are_left_alone(tmp_path):
    (tmp_path / "README.txt").write_text("not a data file", "utf-8")
    assert load_plans(tmp_path).hazards == ()
