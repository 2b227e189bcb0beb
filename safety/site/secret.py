"""The key that signs sessions: made on first use, kept in the home."""

import os
import tempfile
from contextlib import suppress
from functools import cache
from pathlib import Path

from django.core.management.utils import get_random_secret_key


@cache
def secret_key(home: Path) -> str:
    """Return the key of this home, in a file that only its owner can read."""
    path = home / "secret-key"
    if not path.exists():
        home.mkdir(parents=True, exist_ok=True)
        handle, draft = tempfile.mkstemp(dir=home)  # mode 0600
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(get_random_secret_key())
        with suppress(FileExistsError):  # another process was first: its key stays
            path.hardlink_to(draft)
        Path(draft).unlink()
    return path.read_text("ascii")
