"""Makes a backup while the site is in use: one instant of the database, and its files."""

import hashlib
import os
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.core.files.storage import default_storage
from django.db import connection, models, transaction
from django.db.migrations.recorder import MigrationRecorder

from batches.keeping import archive, tables
from batches.keeping.archive import Manifest, Part, Progress, Summed, silent
from batches.keeping.errors import CannotKeep, UnsafeBackup
from batches.keeping.made import note_backup

ROWS_AT_ONCE = 500
SUMMED = "sha256"  # the column that says what a row's one file must be


@dataclass(slots=True)
class _Files:
    """The files that rows speak of, each with the sum that the row gives, if any."""

    sums: dict[str, set[str]] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)


def back_up(path: Path, *, at: datetime, progress: Progress = silent) -> Manifest:
    """Write everything into one new file, read it back, and only then give it its name."""
    if path.exists():
        raise CannotKeep(
            f"{path} is already there and is not overwritten. Give another name, for "
            f"example one with today’s date."
        )
    if not path.parent.is_dir():
        raise CannotKeep(f"There is no folder {path.parent}. Make it first.")
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    except OSError as error:
        raise CannotKeep(f"{path.parent} cannot be written to: {error}.") from error
    draft = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as zipped:
                manifest = _write(zipped, at, progress)
            file.flush()
            os.fsync(file.fileno())
        with archive.opened(draft) as zipped:
            if archive.check(draft, zipped, progress).text() != manifest.text():
                raise UnsafeBackup("What was written does not read back the same.")
        _name_it(draft, path)
    except OSError as error:
        raise CannotKeep(f"{path} cannot be written: {error}.") from error
    finally:
        draft.unlink(missing_ok=True)
    note_backup(path, manifest)
    return manifest


@contextmanager
def snapshot() -> Iterator[None]:
    """Read the database as it is at one instant, while others go on writing."""
    if connection.in_atomic_block:
        raise CannotKeep("A backup cannot be made in the middle of a transaction.")
    if connection.vendor != "sqlite":
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
            yield
        return
    with connection.cursor() as cursor:
        cursor.execute("BEGIN DEFERRED")  # a reader of the log: writers do not wait
        try:
            cursor.execute("SELECT count(*) FROM sqlite_master")  # the instant
            yield
        finally:
            cursor.execute("ROLLBACK")


def _write(zipped: zipfile.ZipFile, at: datetime, progress: Progress) -> Manifest:
    files = _Files()
    with snapshot():
        kept = tables.kept_models()
        counts = {model: model._base_manager.count() for model in kept}
        total, done = sum(counts.values()), 0
        parts = []
        for model in kept:
            parts.append(_table(zipped, model, files))
            done += parts[-1].rows
            progress("Writing rows", done, total)
        migrations = sorted(
            [app, name]
            for app, name in MigrationRecorder(connection).applied_migrations()
        )
    # Files are never changed and were all there before their rows: they may come after.
    stored = []
    for number, name in enumerate(sorted(files.sums), start=1):
        if (part := _file(zipped, name, files)) is not None:
            stored.append(part)
        progress("Writing files", number, len(files.sums))
    manifest = Manifest(
        made_at=at.isoformat(),
        program=settings.BRINEWRIGHT_VERSION,
        migrations=migrations,
        tables=parts,
        files=stored,
        missing_files=files.missing,
        changed_files=files.changed,
    )
    text = manifest.text()
    zipped.writestr(archive.MANIFEST, text)
    zipped.writestr(archive.MANIFEST_SUM, hashlib.sha256(text).hexdigest())
    return manifest


def _table(zipped: zipfile.ZipFile, model: type[models.Model], files: _Files) -> Part:
    label, columns, count = tables.label_of(model), tables.columns_of(model), 0
    named = [each for each in columns if isinstance(each, models.FileField)]
    has_sum = len(named) == 1 and any(each.attname == SUMMED for each in columns)
    out = Summed(zipped, f"tables/{label}.jsonl")
    out.write(tables.header(model))
    rows = model._base_manager.order_by("pk")
    for row in rows.iterator(chunk_size=ROWS_AT_ONCE):
        out.write(tables.row_line(row, columns))
        count += 1
        for each in named:
            if name := getattr(row, each.attname).name:
                sums = files.sums.setdefault(name, set())
                sums.update({getattr(row, SUMMED)} if has_sum else ())
    return out.close(table=label, rows=count)


def _file(zipped: zipfile.ZipFile, name: str, files: _Files) -> Part | None:
    """Copy one file; one that is gone, or not what its row says, is told of."""
    if not default_storage.exists(name):
        files.missing.append(name)
        return None
    out = Summed(zipped, f"files/{name}")
    with default_storage.open(name, "rb") as file:
        while chunk := file.read(archive.CHUNK):
            out.write(chunk)
    part = out.close(path=name)
    if files.sums[name] - {part.sha256}:
        files.changed.append(name)
    return part


def _name_it(draft: Path, path: Path) -> None:
    """Give the finished file its name, unless somebody took it meanwhile."""
    try:
        path.hardlink_to(draft)
    except FileExistsError:
        raise CannotKeep(f"{path} appeared meanwhile. Give another name.") from None
    except OSError:  # a disk without links, such as a memory stick
        if path.exists():
            raise CannotKeep(f"{path} appeared meanwhile. Give another name.") from None
        draft.rename(path)
