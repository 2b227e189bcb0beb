"""Restores a backup into an empty home: checked whole before anything is written."""

import hashlib
import zipfile
from pathlib import Path

from django.apps import apps
from django.conf import settings
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import DatabaseError, connection, models, transaction
from django.db.migrations.executor import MigrationExecutor

from batches.fences import raise_fences
from batches.keeping import archive, tables
from batches.keeping.archive import Manifest, Part, Progress, silent
from batches.keeping.errors import CannotKeep, NewerBackup, NotEmpty, UnsafeBackup
from batches.keeping.made import note_backup

ROWS_AT_ONCE = 500
OWN_TABLES = {"django_migrations"}


def restore(path: Path, *, progress: Progress = silent) -> Manifest:
    """Load a backup into this installation, which must be empty."""
    if not path.is_file():
        raise CannotKeep(f"There is no file {path}.")
    with archive.opened(path) as zipped:
        manifest = archive.check(path, zipped, progress)
        executor = MigrationExecutor(connection)
        targets = _targets(path, manifest, executor)
        _check_empty()
        _check_schema(manifest, executor)
        executor.migrate(targets)
        known = _models_of(targets)
        written: list[Path] = []
        try:
            with transaction.atomic():
                _load_tables(zipped, manifest, known, progress)
                _write_files(zipped, manifest, written, progress)
        except BaseException:
            for file in written:
                file.unlink(missing_ok=True)
            raise
    call_command("migrate", verbosity=0, interactive=False)
    raise_fences(connection)
    note_backup(path, manifest)
    return manifest


def _targets(
    path: Path, manifest: Manifest, executor: MigrationExecutor
) -> list[tuple[str, str]]:
    """Return the migrations at which the backup stood; refuse those of a newer version."""
    there = {(app, name) for app, name in manifest.migrations}
    graph = executor.loader.graph
    if unknown := sorted(there - set(graph.nodes)):
        raise NewerBackup(
            f"{path} was made by a newer version of the program: this one does not "
            f"know {'.'.join(unknown[0])}. Install that version, then restore with it."
        )
    return sorted(
        node
        for node in there
        if not any(
            child.key[0] == node[0] and child.key in there
            for child in graph.node_map[node].children
        )
    )


def _check_empty() -> None:
    """Refuse a home in which anything was recorded or stored."""
    left_out = {
        model._meta.db_table
        for model in apps.get_models(include_auto_created=True)
        if not tables.is_kept(model)
    }
    with connection.cursor() as cursor:
        names = connection.introspection.table_names(cursor)
        for name in sorted(set(names) - left_out - OWN_TABLES):
            cursor.execute(f"SELECT 1 FROM {connection.ops.quote_name(name)} LIMIT 1")  # noqa: S608
            if cursor.fetchone() is not None:
                raise NotEmpty(
                    "There are already records here, and a backup is restored into an "
                    "empty home only. Set BRINEWRIGHT_HOME to a new folder (with "
                    "DATABASE_URL: to a new database), then restore again."
                )
    files = Path(settings.MEDIA_ROOT)
    if files.is_dir() and any(each.is_file() for each in files.rglob("*")):
        raise NotEmpty(
            f"There are already files in {files}, and a backup is restored into an "
            "empty home only. Set BRINEWRIGHT_HOME to a new folder, then restore again."
        )


def _check_schema(manifest: Manifest, executor: MigrationExecutor) -> None:
    """Refuse tables that are ahead of the backup: they cannot be led back."""
    there = {(app, name) for app, name in manifest.migrations}
    if set(executor.loader.applied_migrations) - there:
        raise NotEmpty(
            "The tables here are those of a newer version than the backup’s. Set "
            "BRINEWRIGHT_HOME to a new folder (with DATABASE_URL: to a new database): "
            "restore makes the tables as they were and then leads them forward."
        )


def _models_of(targets: list[tuple[str, str]]) -> dict[str, type[models.Model]]:
    """Return the models as they were when the backup was made, by the table's name."""
    state = MigrationExecutor(connection).loader.project_state(targets)
    found = {}
    for model in state.apps.get_models(include_auto_created=True):
        for column in model._meta.concrete_fields:
            if getattr(column, "auto_now", False) or getattr(
                column, "auto_now_add", False
            ):
                column.auto_now = column.auto_now_add = False  # the instant is given
        found[tables.label_of(model)] = model
    return found


def _load_tables(
    zipped: zipfile.ZipFile,
    manifest: Manifest,
    known: dict[str, type[models.Model]],
    progress: Progress,
) -> None:
    done = 0
    loaded = []
    for part in manifest.tables:
        model = known.get(part.table)
        if model is None:
            raise UnsafeBackup(f"There is no table {part.table}. Nothing was restored.")
        _load_table(zipped, part, model)
        loaded.append(model)
        done += part.rows
        progress("Restoring rows", done, manifest.row_count)
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), loaded):
            cursor.execute(statement)
    try:
        connection.check_constraints()
    except DatabaseError as error:
        raise UnsafeBackup(
            f"The rows of the backup do not fit together: {error}. Nothing was restored."
        ) from error


def _load_table(zipped: zipfile.ZipFile, part: Part, model: type[models.Model]) -> None:
    count, some = 0, []
    with zipped.open(part.member) as lines:
        if lines.readline() != tables.header(model):
            raise UnsafeBackup(
                f"{part.table} has other columns than it had when the backup says that "
                "it was made. Nothing was restored."
            )
        try:
            for row in tables.rows_from(model, lines):
                some.append(row)
                count += 1
                if len(some) == ROWS_AT_ONCE:
                    model._base_manager.bulk_create(some)
                    some = []
            model._base_manager.bulk_create(some)
        except (ValueError, TypeError, DatabaseError) as error:
            raise UnsafeBackup(
                f"{part.table}, row {count}: {error}. Nothing was restored."
            ) from error
    if count != part.rows:
        raise UnsafeBackup(
            f"{part.table} has {count} rows, not {part.rows}. Nothing was restored."
        )


def _write_files(
    zipped: zipfile.ZipFile,
    manifest: Manifest,
    written: list[Path],
    progress: Progress,
) -> None:
    root = Path(settings.MEDIA_ROOT)
    for number, part in enumerate(manifest.files, start=1):
        target = root / part.path
        target.parent.mkdir(parents=True, exist_ok=True)
        digest = hashlib.sha256()
        written.append(target)
        with target.open("xb") as out:
            for chunk in archive.chunks(zipped, part):
                digest.update(chunk)
                out.write(chunk)
        if digest.hexdigest() != part.sha256:
            raise UnsafeBackup(f"{part.member} changed while it was restored.")
        progress("Restoring files", number, len(manifest.files))
