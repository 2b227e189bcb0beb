"""Writes: the bytes of a file that somebody hands in, kept whole or not at all."""

import hashlib
import os
from pathlib import Path
from uuid import uuid4

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from batches.models import Producer


def keep(producer: Producer, data: bytes) -> tuple[str, str]:
    """Keep bytes under their SHA-256; return the path in the storage, and the hash.

    They appear under that name at once and whole: whoever pulls the plug while they are
    written leaves nothing behind that looks like the file.
    """
    digest = hashlib.sha256(data).hexdigest()
    path = f"{producer.slug}/{digest}"
    if not _is_there(path, digest):
        half = default_storage.save(f"{path}.{uuid4().hex}.half", ContentFile(data))
        with default_storage.open(half, "rb+") as written:
            os.fsync(written.fileno())
        Path(default_storage.path(half)).replace(default_storage.path(path))
    return path, digest


def _is_there(path: str, digest: str) -> bool:
    if not default_storage.exists(path):
        return False
    with default_storage.open(path) as stored:
        return hashlib.file_digest(stored, "sha256").hexdigest() == digest
