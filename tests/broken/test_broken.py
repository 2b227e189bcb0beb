"""Every data file that is wrong in one way is refused with where, what and what to do."""

import pickle
import shutil
from pathlib import Path

import pytest

from safety.errors import LimitFileError, ProcessFileError
from safety.limits.load import load as load_limits
from safety.processes.load import load as load_processes

HERE = Path(__file__).parent
SAYS = "# says: "
FEWEST = {"limits": 70, "processes": 20}


def files_of(kind: str) -> list[Path]:
    return sorted((HERE / kind).glob("*.toml"))


def said_of(path: Path) -> str:
    first = path.read_text("utf-8").splitlines()[0]
    assert first.startswith(SAYS)
    return first.removeprefix(SAYS)


@pytest.mark.parametrize("kind", FEWEST)
def test_there_is_a_file_for_every_mistake(kind):
    assert len(files_of(kind)) >= FEWEST[kind]


@pytest.mark.parametrize("path", files_of("limits"), ids=lambda path: path.stem)
def test_broken_limit_file_is_refused(path, tmp_path):
    shutil.copy(path, tmp_path)
    with pytest.raises(LimitFileError) as caught:
        load_limits(tmp_path)
    assert str(caught.value).startswith(said_of(path))
    assert caught.value.file == path.name
    assert caught.value.remedy


@pytest.mark.parametrize("path", files_of("processes"), ids=lambda path: path.stem)
def test_broken_process_file_is_refused(path, tmp_path):
    shutil.copy(path, tmp_path / "hot-smoked.toml")
    with pytest.raises(ProcessFileError) as caught:
        load_processes(tmp_path)
    assert str(caught.value).startswith(said_of(path))
    assert caught.value.remedy


def test_an_id_used_in_two_files_is_refused(tmp_path):
    source = HERE / "limits" / "limit-id-twice.toml"
    whole = source.read_text("utf-8")
    once = whole[: whole.rindex("[[limit]]")]
    (tmp_path / "a.toml").write_text(once, "utf-8")
    (tmp_path / "b.toml").write_text(once, "utf-8")
    with pytest.raises(LimitFileError, match=r"b\.toml, 'example.handbook': is used"):
        load_limits(tmp_path)


def test_an_old_entry_stays_beside_the_one_that_replaces_it(tmp_path):
    whole = (HERE / "limits" / "limit-replaced-overlaps.toml").read_text("utf-8")
    later = whole.replace("since = 2026-05-01", "since = 2026-06-01")
    assert later != whole
    (tmp_path / "a.toml").write_text(later, "utf-8")
    limits = load_limits(tmp_path).limits
    assert set(limits) == {"example.handbook.tray", "example.handbook.bowl"}


def test_other_files_in_the_folder_are_left_alone(tmp_path):
    (tmp_path / "README.txt").write_text("not a data file", "utf-8")
    assert load_limits(tmp_path).limits == {}
    assert load_processes(tmp_path) == {}


def test_the_errors_survive_a_pickle():
    error = LimitFileError("a.toml", "limit 'x'", "lacks 'section'.", "Add it.")
    again = pickle.loads(pickle.dumps(error))  # noqa: S301 - our own bytes
    assert str(again) == str(error) == "a.toml, limit 'x': lacks 'section'. Add it."
