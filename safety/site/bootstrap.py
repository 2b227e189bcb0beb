"""Sets up the environment on a bare machine, with the standard library only."""

import ctypes
import fcntl
import hashlib
import importlib.util
import os
import shutil
import subprocess
import sys
from contextlib import contextmanager
from pathlib import Path

CHECKOUT = Path(__file__).resolve().parents[2]
VENV = CHECKOUT / ".venv"
PYTHON = VENV / "bin" / "python"
STAMP = VENV / "brinewright-stamp"  # what has been set up, one thing per line
LOCK, TEST_LOCK = "requirements.txt", "requirements-test.txt"
OLDEST = (3, 11)
NEWER = ("python3.14", "python3.13", "python3.12", "python3.11")
AUTHORITIES = Path("/etc/ssl/certs/ca-certificates.crt")
CHROMIUMS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
PANGO = ("libpango-1.0.so.0", "libpangoft2-1.0.so.0", "libharfbuzz-subset.so.0")
PANGO_PACKAGES = ["libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0"]
IMPORTS = ("crispy_bootstrap5", "django", "numpy", "waitress", "weasyprint")
TEST_IMPORTS = ("hypothesis", "playwright", "pytest_django")


class Stuck(Exception):
    """Set-up cannot go on: what is wrong, and the one command to type."""

    def __init__(self, problem, remedy):
        super().__init__(problem, remedy)
        self.problem, self.remedy = problem, remedy

    def __str__(self):
        return f"\n{self.problem}\nType:\n\n    {self.remedy}\n"


def enter(arguments):
    """Go on in an environment that has what the command needs; make it if missing."""
    command = arguments[0] if arguments else "help"
    try:
        check_python(arguments)
        if has_packages_elsewhere(command):
            return
        if not needs(command) <= stamped():
            set_up(command)
        if command == "test":
            install_on_system(missing_browser())
    except Stuck as stuck:
        sys.exit(str(stuck))
    if not is_inside():
        os.execv(PYTHON, [str(PYTHON), str(CHECKOUT / "manage.py"), *arguments])


def check_python(arguments):
    """Refuse a Python that is too old for what follows."""
    if sys.version_info[:2] >= OLDEST:
        return
    here = ".".join(str(part) for part in sys.version_info[:2])
    found = next(filter(shutil.which, NEWER), None)
    raise Stuck(
        f"Brinewright needs Python 3.11 or later; this is Python {here}.",
        " ".join([found, "manage.py", *arguments])
        if found
        else "sudo apt-get install -y python3.11 python3.11-venv",
    )


def is_inside():
    """Return whether this process runs in the checkout's own environment."""
    return Path(sys.prefix).resolve() == VENV.resolve()


def has_packages_elsewhere(command):
    """Return whether another active environment has the packages already."""
    if sys.prefix == sys.base_prefix or is_inside():
        return False
    names = IMPORTS + (TEST_IMPORTS if command == "test" else ())
    return all(importlib.util.find_spec(name) for name in names)


def needs(command):
    """Return the lines that the stamp must hold before the command can run."""
    lines = {line_of(LOCK)}
    if command in {"start", "print", "test"}:
        lines.add("pango")
    if command == "test":
        lines.add(line_of(TEST_LOCK))
    return lines


def line_of(lock):
    """Return the name of a lock with the hash of what it says now."""
    return f"{lock} {hashlib.sha256((CHECKOUT / lock).read_bytes()).hexdigest()}"


def stamped():
    """Return the lines of the stamp; none if there is no environment to speak of."""
    if not (PYTHON.exists() and STAMP.exists()):
        return set()
    return set(STAMP.read_text("ascii").splitlines())


def set_up(command):
    """Make what is missing, one process at a time, and stamp what was made."""
    with alone():
        done = stamped()
        if needs(command) <= done:
            return  # another process made it while this one waited
        tests = command == "test" or any(line.startswith(TEST_LOCK) for line in done)
        lock = TEST_LOCK if tests else LOCK
        say(f"Setting up in {VENV}: once, and again when its packages change.")
        say("1/4 Looking for what the system must have")
        install_on_system({**missing_venv(), **missing_pango(command)})
        say("2/4 Making the environment")
        make_environment(command)
        say("3/4 Putting uv, the installer of packages, into it")
        put_uv(command)
        say(f"4/4 Installing the packages of {lock}: a minute or so the first time")
        sync_packages(lock, command)
        made = {line_of(LOCK)} | ({line_of(TEST_LOCK)} if tests else set())
        made |= {"pango"} if not missing_pango("start") else set()
        STAMP.write_text("\n".join(sorted(made)), "ascii")


def missing_venv():
    """Return what is needed to make environments: its name and its packages."""
    if importlib.util.find_spec("ensurepip") and importlib.util.find_spec("venv"):
        return {}
    return {"Python's venv module": [f"python3.{sys.version_info[1]}-venv"]}


def missing_pango(command):
    """Return the text engine that PDFs need, if it is missing and this needs it."""
    if command not in {"start", "print", "test"} or sys.platform != "linux":
        return {}
    try:
        for library in PANGO:
            ctypes.CDLL(library)
    except OSError:
        return {"Pango, which draws the text of PDFs": PANGO_PACKAGES}
    return {}


def browser():
    """Return where the browser is that the tests drive, or None."""
    return next(filter(None, map(shutil.which, CHROMIUMS)), None)


def missing_browser():
    """Return the browser that the tests drive, if it is missing."""
    if browser():
        return {}
    return {"Chromium, which the browser tests drive": ["chromium"]}


def install_on_system(missing):
    """Install Debian's packages if this is root on Debian, else say what to type."""
    if not missing:
        return
    packages = [name for names in missing.values() for name in names]
    apt = f"apt-get install -y {' '.join(packages)}"
    problem = f"Missing on this system: {'; '.join(missing)}."
    if os.geteuid() != 0 or not shutil.which("apt-get"):
        raise Stuck(problem, f"sudo apt-get update && sudo {apt}")
    say(f"    {problem} You are root: running {apt}")
    remedy = f"apt-get update && {apt}"
    run(["apt-get", "update", "-qq"], f"{problem} apt-get update failed.", remedy)
    run([*apt.split(), "-qq"], f"{problem} apt-get install failed.", remedy)


def make_environment(command):
    """Make an empty environment, unless a whole one is there."""
    STAMP.unlink(missing_ok=True)
    if PYTHON.exists() and (VENV / "bin" / "pip").exists():
        return
    problem = f"Python could not make {VENV}: see above. Is the disk full or read-only?"
    make = [sys.executable, "-m", "venv", "--clear", VENV]
    run(make, problem, f"rm -rf {VENV} && python3 manage.py {command}")


def put_uv(command):
    """Install the uv that the test lock names, checked against its hashes."""
    lines = (CHECKOUT / TEST_LOCK).read_text("utf-8").splitlines()
    first = next(at for at, line in enumerate(lines) if line.startswith("uv=="))
    last = next(at for at in range(first, len(lines)) if not lines[at].endswith("\\"))
    pin = VENV / "uv.txt"
    pin.write_text("\n".join(lines[first : last + 1]) + "\n", "utf-8")
    quiet = ["--quiet", "--disable-pip-version-check", "--no-input"]
    pip = [PYTHON, "-m", "pip", "install", *quiet, "--require-hashes", "-r", pin]
    fetch(pip, command)


def sync_packages(lock, command):
    """Make the packages of the environment exactly those of the lock."""
    trust = ["--system-certs"] if AUTHORITIES.exists() else []  # as pip does by itself
    uv = [VENV / "bin" / "uv", *trust, "pip", "sync", "--require-hashes"]
    fetch([*uv, "--compile-bytecode", "--python", PYTHON, CHECKOUT / lock], command)


def fetch(words, command):
    """Run an installer; if it fails, the likely reason is the network."""
    problem = (
        "The packages could not be fetched: see above. Setting up needs a network once; "
        "what has arrived is kept."
    )
    run(words, problem, f"python3 manage.py {command}")


def run(words, problem, remedy):
    """Run a command with its output on stderr, where it spoils no result."""
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    done = subprocess.run(
        words, stdin=subprocess.DEVNULL, stdout=sys.stderr, env=quiet, check=False
    )
    if done.returncode != 0:
        raise Stuck(problem, remedy)


@contextmanager
def alone():
    """Wait until no other process is setting up this checkout."""
    with Path(__file__).open("rb") as door:
        try:
            fcntl.flock(door, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("Another start is setting up this checkout; waiting for it.")
            fcntl.flock(door, fcntl.LOCK_EX)
        yield


def say(line):
    """Print one line of progress."""
    sys.stderr.write(line + "\n")
    sys.stderr.flush()
