#!/usr/bin/env python3
"""The one door: sets up what is missing, then runs the command that was typed."""

import os
import sys

from safety.site import bootstrap


def main() -> None:
    """Run one command, in an environment that has what it needs."""
    arguments = sys.argv[1:]
    bootstrap.enter(arguments)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "safety.site.settings")
    if arguments[:1] == ["test"]:
        os.execv(sys.executable, [sys.executable, "-m", "pytest", *arguments[1:]])
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    try:
        main()
    except KeyboardInterrupt:
        sys.exit(130)  # stopped by Ctrl-C: no traceback
