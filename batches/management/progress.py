"""One line on a terminal that says how far a command has come."""

import time

from django.core.management.base import OutputWrapper

LINE_EVERY_S = 0.1


class ProgressLine:
    """Rewrites one line on a terminal; elsewhere says nothing."""

    def __init__(self, out: OutputWrapper) -> None:
        self._out = out
        self._next_line_at = 0.0

    def __call__(self, what: str, done: int, total: int) -> None:
        now = time.monotonic()
        if not self._out.isatty() or (now < self._next_line_at and done < total):
            return
        self._next_line_at = now + LINE_EVERY_S
        end = "\n" if done == total else ""
        self._out.write(f"\r{what}: {done} of {total}", ending=end)
        self._out.flush()
