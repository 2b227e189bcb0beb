"""A backup as a file: one zip with tables, files, and a manifest of checksums; and its check."""

import hashlib
import json
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

from batches.keeping.errors import NewerBackup, UnsafeBackup

FORMAT = "brinewright.backup"
VERSION = 1
MANIFEST = "manifest.json"
MANIFEST_SUM = "manifest.sha256"
CHUNK = 1024 * 1024  # bytes read at a time

Progress = Callable[[str, int, int], None]


def silent(what: str, done: int, total: int) -> None:
    """Say nothing about the progress."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One member of the archive; a table has rows, a file the path it is stored under."""

    member: str
    size: int
    sha256: str
    table: str = ""
    rows: int = 0
    path: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What a backup holds, and of which state of the database."""

    made_at: str
    program: str
    migrations: list[list[str]]
    tables: list[Part]
    files: list[Part]
    missing_files: list[str] = field(default_factory=list)
    changed_files: list[str] = field(default_factory=list)

    def text(self) -> bytes:
        """Return the manifest as it stands in the archive."""
        told = {"format": f"{FORMAT}/{VERSION}"} | asdict(self)
        return json.dumps(told, indent=1, sort_keys=True).encode()

    @property
    def row_count(self) -> int:
        """Return how many rows the backup holds."""
        return sum(part.rows for part in self.tables)


class Summed:
    """Writes one member of an archive and sums it on the way."""

    def __init__(self, archive: zipfile.ZipFile, member: str) -> None:
        self.member = member
        self.size = 0
        self.digest = hashlib.sha256()
        self._file = archive.open(member, "w", force_zip64=True)

    def write(self, data: bytes) -> None:
        """Add to the member."""
        self._file.write(data)
        self.digest.update(data)
        self.size += len(data)

    def close(self, **more: Any) -> Part:
        """End the member and return what the manifest says of it."""
        self._file.close()
        digest = self.digest.hexdigest()
        return Part(member=self.member, size=self.size, sha256=digest, **more)


@contextmanager
def opened(path: Path) -> Iterator[zipfile.ZipFile]:
    """Open an archive; what cannot be read becomes one sentence."""
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError) as error:
        raise UnsafeBackup(
            f"{path} is damaged or was cut short: it cannot be read as a backup. "
            "Use another copy of it."
        ) from error


def manifest_of(path: Path, archive: zipfile.ZipFile) -> Manifest:
    """Return what a backup says that it holds, or refuse it."""
    names = archive.namelist()
    if MANIFEST not in names or MANIFEST_SUM not in names:
        raise UnsafeBackup(
            f"{path} is no backup of this program: it has no {MANIFEST}. "
            "Choose a file that the backup command made."
        )
    text = archive.read(MANIFEST)
    if hashlib.sha256(text).hexdigest() != archive.read(MANIFEST_SUM).decode(
        "ascii", "replace"
    ):
        raise UnsafeBackup(
            f"{path}: the list of its contents was changed after the backup was made. "
            "Use another copy of it."
        )
    return _parsed(path, text)


def check(
    path: Path, archive: zipfile.ZipFile, progress: Progress = silent
) -> Manifest:
    """Read the whole archive and refuse it unless every checksum is right."""
    manifest = manifest_of(path, archive)
    parts = [*manifest.tables, *manifest.files]
    listed = sorted([*(part.member for part in parts), MANIFEST, MANIFEST_SUM])
    if sorted(archive.namelist()) != listed:
        raise UnsafeBackup(
            f"{path} does not hold what its list says: something was taken out of it "
            "or put into it. Use another copy of it."
        )
    for done, part in enumerate(parts, start=1):
        size, digest = _summed(archive, part)
        if (size, digest) != (part.size, part.sha256):
            raise UnsafeBackup(
                f"{path}: {part.member} is not what was backed up (its checksum "
                "differs). Use another copy of the backup."
            )
        progress("Checking the backup", done, len(parts))
    return manifest


def chunks(archive: zipfile.ZipFile, part: Part) -> Iterator[bytes]:
    """Yield what a member holds, never much of it at once."""
    with archive.open(part.member) as file:
        while chunk := file.read(CHUNK):
            yield chunk


def _summed(archive: zipfile.ZipFile, part: Part) -> tuple[int, str]:
    size, digest = 0, hashlib.sha256()
    for chunk in chunks(archive, part):
        size += len(chunk)
        if size > part.size:  # longer than it should be: no need to read on
            break
        digest.update(chunk)
    return size, digest.hexdigest()


def _parsed(path: Path, text: bytes) -> Manifest:
    try:
        told = json.loads(text)
        name, _, version = told.pop("format").partition("/")
        if name == FORMAT and int(version) > VERSION:
            raise NewerBackup(
                f"{path} was made by a newer version of the program "
                f"(format {version}; this one reads up to {VERSION}). "
                "Install that version, then restore with it."
            )
        if name != FORMAT:
            raise ValueError(name)
        told["tables"] = [Part(**part) for part in told["tables"]]
        told["files"] = [Part(**part) for part in told["files"]]
        manifest = Manifest(**told)
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise UnsafeBackup(
            f"{path}: the list of its contents cannot be understood. "
            "Choose a file that the backup command made."
        ) from error
    for part in manifest.files:
        if not is_inside(part.path):
            raise UnsafeBackup(
                f"{path}: {part.path!r} would be written outside the home. "
                "Do not use this file."
            )
    return manifest


def is_inside(path: str) -> bool:
    """Say whether a stored path stays inside the folder of files."""
    pure = PurePosixPath(path)
    return (
        bool(pure.parts)
        and not pure.is_absolute()
        and ".." not in pure.parts
        and "\\" not in path
        and "\0" not in path
    )
