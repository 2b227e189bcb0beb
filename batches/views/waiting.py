"""Uploaded files that wait, between two pages, for a person to say what they are."""

import json
import secrets
import shutil
import time
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings

from batches.models import Producer

KEPT_S = 24 * 60 * 60  # then whoever uploaded it has forgotten it
TOKEN_BYTES = 16


@dataclass(frozen=True, slots=True)
class Waiting:
    """An uploaded file that is not part of any record yet."""

    name: str
    data: bytes
    folder: Path

    def forget(self) -> None:
        """Remove the upload."""
        shutil.rmtree(self.folder, ignore_errors=True)


def keep(producer: Producer, name: str, data: bytes) -> str:
    """Keep an upload and return the token under which it waits."""
    _clear_old(producer)
    token = secrets.token_hex(TOKEN_BYTES)
    folder = _folder(producer) / token
    folder.mkdir(parents=True)
    (folder / "data").write_bytes(data)
    (folder / "name.json").write_text(json.dumps(name), "utf-8")
    return token


def fetch(producer: Producer, token: str) -> Waiting | None:
    """Return the producer's upload of that token; None if there is none."""
    if not all(character in "0123456789abcdef" for character in token):
        return None
    folder = _folder(producer) / token
    try:
        name = json.loads((folder / "name.json").read_text("utf-8"))
        return Waiting(name, (folder / "data").read_bytes(), folder)
    except FileNotFoundError:
        return None


def _folder(producer: Producer) -> Path:
    return Path(settings.BRINEWRIGHT_HOME) / "tmp" / str(producer.pk)


def _clear_old(producer: Producer) -> None:
    folder = _folder(producer)
    if not folder.is_dir():
        return
    oldest = time.time() - KEPT_S
    for waiting in folder.iterdir():
        if waiting.stat().st_mtime < oldest:
            shutil.rmtree(waiting, ignore_errors=True)
