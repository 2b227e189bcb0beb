"""Prepares the records and serves the site until Ctrl-C."""

import errno
import socket
import time
from argparse import ArgumentTypeError
from contextlib import suppress

from django.conf import settings
from django.core.checks import Tags, run_checks
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.core.wsgi import get_wsgi_application
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from waitress.server import create_server

THREADS = 8
EVERYWHERE = {"0.0.0.0", "::", ""}  # noqa: S104 - recognised, never the default
PORTS = range(1, 2**16)
DEFAULT_PORT = 8000
ABANDONED_AFTER_S = 60 * 60  # another server may be writing a file right now
PROXY = {"trusted_proxy": "127.0.0.1", "trusted_proxy_headers": "x-forwarded-proto"}


class Command(BaseCommand):
    """Prepares and serves; every step is printed as it begins."""

    help = "Prepare the records and serve the site until Ctrl-C."
    requires_system_checks = ()  # `check` is a command of its own; starting is quick

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--demo", action="store_true", help="fill in a demo season")
        parser.add_argument(
            "--port", type=port_number, default=8000, help="default 8000"
        )
        parser.add_argument(
            "--host",
            default="127.0.0.1",
            help="address to listen on; 0.0.0.0 lets phones on the same network in",
        )
        parser.add_argument(
            "--prepare", action="store_true", help="do all but serve, then exit"
        )

    def handle(self, *, demo: bool, port: int, host: str, prepare: bool, **_) -> None:
        steps = [
            ("Looking after the folder that keeps your records", self.prepare_home),
            ("Bringing the records up to this version", self.prepare_records),
        ]
        if demo:
            steps.append(("Loading the demo, unless it is there", self.load_demo))
        for number, (name, step) in enumerate(steps, start=1):
            self.stdout.write(f"{number}/{len(steps)} {name}")
            self.stdout.flush()
            step()
        if prepare:
            self.stdout.write("Ready. Start with: python3 manage.py start")
        else:
            self.serve(host, port)

    def prepare_home(self) -> None:
        """Make the home and its key, or say why that is not possible."""
        home = settings.BRINEWRIGHT_HOME
        try:
            home.mkdir(parents=True, exist_ok=True)
            str(settings.SECRET_KEY)
            self.clear_half_files()
        except OSError as error:
            raise CommandError(
                f"Cannot write in {home}: {error.strerror}. Make that folder yours, or "
                "name another: BRINEWRIGHT_HOME=~/brinewright python3 manage.py start"
            ) from error
        self.stdout.write(f"    {home}")

    def clear_half_files(self) -> None:
        """Remove what a crash left of files that were just being written."""
        for half in settings.MEDIA_ROOT.glob("*/*.half"):
            if time.time() - half.stat().st_mtime > ABANDONED_AFTER_S:
                half.unlink(missing_ok=True)

    def prepare_records(self) -> None:
        """Apply the migrations that the database has not seen; refuse one unguarded."""
        executor = MigrationExecutor(connection)
        plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
        if plan:
            call_command("migrate", verbosity=0, interactive=False)
        for problem in run_checks(tags=[Tags.database], databases=["default"]):
            if problem.is_serious():
                raise CommandError(f"{problem.msg} {problem.hint or ''}".strip())
        self.stdout.write(f"    {len(plan)} changes made" if plan else "    up to date")

    def load_demo(self) -> None:
        """Write the demo season; the command prints how to sign in."""
        call_command("load_demo", stdout=self.stdout, stderr=self.stderr)

    def serve(self, host: str, port: int) -> None:
        """Answer requests until Ctrl-C."""
        addresses = addresses_to_open(host)
        settings.ALLOWED_HOSTS += [*addresses, *names_of_this_machine()]
        proxy = PROXY if settings.BRINEWRIGHT_HTTPS else {}
        site = get_wsgi_application()
        try:
            server = create_server(site, host=host, port=port, threads=THREADS, **proxy)
        except (OSError, ValueError) as error:
            raise CommandError(why_not_listening(host, port, error)) from error
        for address in addresses:
            self.stdout.write(self.style.SUCCESS(f"Open http://{address}:{port}/"))
        if host in EVERYWHERE:
            self.stdout.write("A phone in the same network opens the same address.")
        self.stdout.write("Stop with Ctrl-C.")
        self.stdout.flush()
        server.run()  # returns on Ctrl-C


def port_number(written: str) -> int:
    """Return the port that was typed."""
    if not written.isdecimal() or int(written) not in PORTS:
        raise ArgumentTypeError(f"{written!r} is not a port; take {DEFAULT_PORT}")
    return int(written)


def addresses_to_open(host: str) -> list[str]:
    """Return the addresses a browser can open when the site listens on ``host``."""
    if host not in EVERYWHERE:
        return [f"[{host}]" if ":" in host else host]
    found = {address_towards("192.0.2.1")}  # documentation net: nothing is sent
    with suppress(OSError):
        found |= set(socket.gethostbyname_ex(socket.gethostname())[2])
    return sorted(found, key=lambda address: (address.startswith("127."), address))


def address_towards(there: str) -> str:
    """Return this machine's own address on the way to another."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((there, 9))
        except OSError:
            return "127.0.0.1"
        return probe.getsockname()[0]


def names_of_this_machine() -> list[str]:
    """Return the names by which others in the network may call this machine."""
    name = socket.gethostname().lower()
    return [name, f"{name.removesuffix('.local')}.local"]


def why_not_listening(host: str, port: int, error: Exception) -> str:
    """Return in words why no server could listen there, and what to type."""
    number = getattr(error, "errno", None)
    if number == errno.EADDRINUSE:
        other = port + 1 if port + 1 in PORTS else DEFAULT_PORT
        return (
            f"Port {port} is taken, perhaps by Brinewright itself in another window. "
            f"Type: python3 manage.py start --port {other}"
        )
    if number == errno.EACCES:
        return (
            f"Port {port} is reserved for the system. "
            f"Type: python3 manage.py start --port {DEFAULT_PORT}"
        )
    return (
        f"This machine cannot listen on {host!r} ({error}). To let phones in the same "
        "network in, type: python3 manage.py start --host 0.0.0.0"
    )
