"""Setting up a bare machine: each failure says what is wrong and what to type."""

import ctypes
import os
import shutil
import subprocess
import sys
import threading

import pytest

from safety.site import bootstrap

UV_PIN = "uv==9 \\\n    --hash=sha256:bb \\\n    --hash=sha256:cc\n"
TEST_LOCK = f"ruff==1 \\\n    --hash=sha256:aa\n{UV_PIN}virtualenv==2\n"


class Became(Exception):
    """Stands for the process turning into another."""


class Machine:
    """A bare machine that runs nothing but remembers what it was told to run."""

    def __init__(self, root):
        self.root = root
        self.told = []
        self.fails_at = None
        self.missing = set()

    def run(self, words, **_):
        line = " ".join(map(str, words))
        self.told.append(line)
        if " -m venv " in line:
            for name in ("python", "pip"):
                made = self.root / ".venv" / "bin" / name
                made.parent.mkdir(parents=True, exist_ok=True)
                made.touch()
        fails = self.fails_at is not None and self.fails_at in line
        return subprocess.CompletedProcess(words, returncode=int(fails))

    def which(self, name):
        return None if name in self.missing else f"/usr/bin/{name}"

    def load(self, name):
        if name in self.missing:
            raise OSError(name)

    def find_spec(self, name):
        return None if name in self.missing else name


@pytest.fixture
def machine(monkeypatch, tmp_path):
    def become(_, words):
        raise Became(words)

    machine = Machine(tmp_path)
    (tmp_path / "requirements.txt").write_text("django==5\n")
    (tmp_path / "requirements-test.txt").write_text(TEST_LOCK)
    monkeypatch.setattr(bootstrap, "CHECKOUT", tmp_path)
    monkeypatch.setattr(bootstrap, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap, "PYTHON", tmp_path / ".venv" / "bin" / "python")
    monkeypatch.setattr(bootstrap, "STAMP", tmp_path / ".venv" / "brinewright-stamp")
    monkeypatch.setattr(sys, "prefix", sys.base_prefix)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(subprocess, "run", machine.run)
    monkeypatch.setattr(os, "execv", become)
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    monkeypatch.setattr(ctypes, "CDLL", machine.load)
    monkeypatch.setattr(shutil, "which", machine.which)
    monkeypatch.setattr(bootstrap.importlib.util, "find_spec", machine.find_spec)
    return machine


@pytest.fixture
def root(monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 0)


def refusal(*arguments):
    """Run a command that must stop, and return what it says."""
    with pytest.raises(SystemExit) as stopped:
        bootstrap.enter(list(arguments))
    return stopped.value.code


def become(*arguments):
    """Run a command that must go on in the environment, and return what it becomes."""
    with pytest.raises(Became) as became:
        bootstrap.enter(list(arguments))
    return became.value.args[0]


def test_bare_machine_makes_the_environment_then_becomes_its_python(machine, capsys):
    words = become("start", "--demo")
    assert words[0] == str(bootstrap.PYTHON)
    assert words[1:] == [str(machine.root / "manage.py"), "start", "--demo"]
    venv, pip, sync = machine.told
    assert venv.startswith(f"{sys.executable} -m venv --clear")
    assert "--require-hashes -r" in pip
    assert sync.endswith("requirements.txt")
    assert "--require-hashes" in sync
    said = capsys.readouterr()
    assert [f"{step}/4" in said.err for step in range(1, 5)] == [True] * 4
    assert said.out == ""


def test_uv_is_pinned_with_the_hashes_of_the_test_lock(machine):
    become("judge")
    assert (machine.root / ".venv" / "uv.txt").read_text() == UV_PIN


def test_second_start_runs_nothing(machine):
    become("start")
    machine.told.clear()
    become("start")
    assert machine.told == []


def test_changed_lock_is_synced_again(machine):
    become("start")
    machine.told.clear()
    (machine.root / "requirements.txt").write_text("django==6\n")
    become("start")
    assert [line for line in machine.told if "pip sync" in line]


def test_tests_sync_the_test_lock_and_later_starts_keep_it(machine):
    become("test")
    assert machine.told[-1].endswith("requirements-test.txt")
    (machine.root / "requirements.txt").write_text("django==6\n")
    become("start")
    assert machine.told[-1].endswith("requirements-test.txt")


def test_start_is_not_enough_for_tests(machine):
    become("start")
    become("test")
    assert machine.told[-1].endswith("requirements-test.txt")


def test_failed_sync_is_not_taken_for_done(machine):
    become("start")
    (machine.root / "requirements.txt").write_text("django==6\n")
    machine.fails_at = "pip sync"
    refusal("start")
    machine.fails_at = None
    machine.told.clear()
    become("start")
    assert [line for line in machine.told if "pip sync" in line]


def test_old_python_is_told_the_newer_one(machine, monkeypatch):
    monkeypatch.setattr(sys, "version_info", (3, 9, 2, "final", 0))
    machine.missing = {"python3.14", "python3.13"}
    said = refusal("start", "--demo")
    assert "3.11 or later; this is Python 3.9" in said
    assert "python3.12 manage.py start --demo" in said


def test_old_python_alone_is_told_what_to_install(machine, monkeypatch):
    monkeypatch.setattr(sys, "version_info", (3, 10, 0, "final", 0))
    machine.missing = set(bootstrap.NEWER)
    assert "apt-get install -y python3.11 python3.11-venv" in refusal("start")


@pytest.mark.parametrize(
    ("missing", "command", "named", "package"),
    [
        ("ensurepip", "judge", "venv", f"python3.{sys.version_info.minor}-venv"),
        ("libpango-1.0.so.0", "start", "Pango", "libpango-1.0-0"),
        ("libharfbuzz-subset.so.0", "print", "Pango", "libharfbuzz-subset0"),
    ],
)
class TestMissingFromTheSystem:
    def test_a_user_is_told_one_command(
        self, machine, missing, command, named, package
    ):
        machine.missing = {missing}
        said = refusal(command)
        assert named in said
        assert "sudo apt-get update && sudo apt-get install -y" in said
        assert package in said
        assert machine.told == []

    def test_root_installs_it(self, machine, root, missing, command, named, package):
        machine.missing = {missing}
        become(command)
        assert machine.told[0].startswith("apt-get update")
        assert machine.told[1].startswith("apt-get install -y")
        assert package in machine.told[1]

    def test_root_without_a_network_is_told_the_command(
        self, machine, root, missing, command, named, package
    ):
        machine.missing = {missing}
        machine.fails_at = "apt-get install"
        said = refusal(command)
        assert "apt-get install failed" in said
        assert f"apt-get install -y {package}" in said or package in said


def test_judging_needs_no_pango(machine):
    machine.missing = {"libpango-1.0.so.0"}
    become("judge")
    assert "pango" not in bootstrap.stamped()
    assert "Pango" in refusal("start")


def test_tests_without_a_browser_say_what_to_install(machine):
    machine.missing = set(bootstrap.CHROMIUMS)
    said = refusal("test")
    assert "Chromium" in said
    assert "apt-get install -y chromium" in said
    become("start")


@pytest.mark.parametrize("step", ["pip install", "pip sync"])
def test_no_network_is_named_as_the_likely_reason(machine, step):
    machine.fails_at = step
    said = refusal("start")
    assert "network" in said
    assert "python3 manage.py start" in said


def test_unwritable_checkout_is_named(machine):
    machine.fails_at = " -m venv "
    said = refusal("start")
    assert "full or read-only" in said
    assert "rm -rf" in said


def test_broken_environment_is_made_anew(machine):
    become("start")
    bootstrap.PYTHON.unlink()
    machine.told.clear()
    become("start")
    assert " -m venv --clear" in machine.told[0]


def test_other_environment_with_the_packages_is_used(machine, monkeypatch):
    monkeypatch.setattr(sys, "prefix", "/somewhere/else")
    assert bootstrap.enter(["start"]) is None
    assert machine.told == []


def test_other_environment_without_the_packages_is_left_alone(machine, monkeypatch):
    monkeypatch.setattr(sys, "prefix", "/somewhere/else")
    machine.missing = {"weasyprint"}
    assert become("start")[0] == str(bootstrap.PYTHON)


def test_own_environment_goes_on_as_it_is(machine, monkeypatch):
    become("start")
    monkeypatch.setattr(sys, "prefix", str(machine.root / ".venv"))
    assert bootstrap.enter(["start"]) is None


def test_second_process_waits_and_finds_the_work_done(machine, capsys):
    def second():
        with pytest.raises(Became):
            bootstrap.enter(["start"])

    with bootstrap.alone():
        other = threading.Thread(target=second)
        other.start()
        other.join(timeout=0.5)
        assert other.is_alive()
        assert machine.told == []
        made = {bootstrap.line_of("requirements.txt"), "pango"}
        bootstrap.PYTHON.parent.mkdir(parents=True)
        bootstrap.PYTHON.touch()
        bootstrap.STAMP.write_text("\n".join(made))
    other.join(timeout=5)
    assert not other.is_alive()
    assert machine.told == []
    assert "waiting" in capsys.readouterr().err
