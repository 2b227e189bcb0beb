"""Start prepares, says where to go, and explains why it cannot."""

import errno
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request

import pytest
from django.core.management import CommandError, call_command

from safety.site.management.commands import start
from tests.house.tree import ROOT

SECONDS_TO_START = 20


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@pytest.fixture
def started(tmp_path):
    """Start the site in a process of its own; return its address and what it said."""
    running = []

    def run(*arguments):
        port = free_port()
        environment = {**os.environ, "BRINEWRIGHT_HOME": str(tmp_path / "home")}
        environment.pop("DATABASE_URL", None)
        process = subprocess.Popen(
            [sys.executable, "manage.py", "start", f"--port={port}", *arguments],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        running.append(process)
        said = []
        for line in process.stdout:
            said.append(line)
            if "Ctrl-C" in line:
                break
        return process, port, "".join(said)

    yield run
    for process in running:
        process.kill()
        process.communicate()


def test_start_serves_refuses_strangers_and_ends_quietly(started):
    process, port, said = started()
    assert f"Open http://127.0.0.1:{port}/" in said
    address = f"http://127.0.0.1:{port}/static/site/site.css"
    with urllib.request.urlopen(address, timeout=SECONDS_TO_START) as answer:
        assert answer.status == 200
    request = urllib.request.Request(
        f"http://127.0.0.1:{port}/", headers={"Host": "stranger.example"}
    )
    with pytest.raises(urllib.error.HTTPError, match="400"):
        urllib.request.urlopen(request, timeout=SECONDS_TO_START)  # noqa: S310
    process.send_signal(signal.SIGINT)
    rest, _ = process.communicate(timeout=SECONDS_TO_START)
    assert "Traceback" not in rest


def test_second_start_is_quick_and_changes_nothing(started):
    process, _, first = started("--prepare")
    process.wait(SECONDS_TO_START)
    assert "changes made" in first
    began = time.monotonic()
    process, _, second = started("--prepare")
    process.wait(SECONDS_TO_START)
    assert time.monotonic() - began < 5
    assert "up to date" in second
    assert "Ready" in second
    assert process.returncode == 0


def test_listening_everywhere_prints_addresses_for_the_phone(started):
    _, port, said = started("--host=0.0.0.0")
    printed = re.findall(r"http://([\d.]+):(\d+)/", said)
    assert printed
    assert {int(shown) for _, shown in printed} == {port}
    assert "phone" in said
    for address, _ in printed:
        with urllib.request.urlopen(
            f"http://{address}:{port}/static/site/site.css", timeout=SECONDS_TO_START
        ) as answer:
            assert answer.status == 200


def test_port_in_use_names_the_next(tmp_path):
    error = OSError(errno.EADDRINUSE, "in use")
    said = start.why_not_listening("127.0.0.1", 8000, error)
    assert "Port 8000 is taken" in said
    assert "--port 8001" in said


def test_last_port_in_use_names_one_that_exists():
    error = OSError(errno.EADDRINUSE, "in use")
    assert "--port 8000" in start.why_not_listening("127.0.0.1", 65535, error)


def test_low_port_and_foreign_address_are_explained():
    assert "--port 8000" in start.why_not_listening("", 80, OSError(errno.EACCES, ""))
    foreign = OSError(errno.EADDRNOTAVAIL, "")
    assert "--host 0.0.0.0" in start.why_not_listening("192.0.2.9", 8000, foreign)


@pytest.mark.parametrize("written", ["0", "65536", "http", "-1", ""])
def test_wrong_port_is_refused(written):
    with pytest.raises(CommandError, match="is not a port"):
        call_command("start", f"--port={written}", "--prepare")


def test_home_that_cannot_be_written_is_named(settings, tmp_path):
    settings.BRINEWRIGHT_HOME = tmp_path / "file" / "home"
    (tmp_path / "file").touch()
    with pytest.raises(CommandError, match=r"Cannot write in .*BRINEWRIGHT_HOME"):
        call_command("start", "--prepare")


def test_addresses_of_one_host_are_that_host():
    assert start.addresses_to_open("192.0.2.7") == ["192.0.2.7"]
    assert start.addresses_to_open("::1") == ["[::1]"]
