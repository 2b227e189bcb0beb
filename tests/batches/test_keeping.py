"""Backups: consistent while people write, whole or refused, restored row for row."""

import hashlib
import json
import os
import struct
import subprocess
import sys
import threading
import zipfile
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4

import psycopg
import pytest
from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from batches import models, recording
from batches.keeping import archive, made, tables
from batches.keeping.backup import back_up
from batches.keeping.errors import CannotKeep, NewerBackup, NotEmpty, UnsafeBackup
from batches.keeping.restore import restore
from tests import factories
from tests.factories import START, at
from tests.house.tree import ROOT

NOW = datetime(2026, 5, 3, 9, 0, tzinfo=UTC)
in_the_open = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def own_home(tmp_path, settings):
    """Give each test a home of its own: noted backups and files are not shared."""
    settings.BRINEWRIGHT_HOME = tmp_path / "home"
    settings.MEDIA_ROOT = tmp_path / "home" / "files"
    return settings.BRINEWRIGHT_HOME


@pytest.fixture
def firm():
    """One batch with a reading, a correction, a trace and a logger's file on the disk."""
    batch = factories.BatchFactory(code="B07")
    stored = recording.store_logger_file(
        batch.producer,
        name="smoker.csv",
        data=b"time,P1\n08:00,38.6\n",
        understanding={"zone": "America/Detroit", "columns": [1, 2]},
        by=batch.by,
        at=at(1),
    )
    factories.TraceFactory(batch=batch, logger_file=stored)
    reading = factories.ReadingFactory(batch=batch, value="145.0")
    recording.record_reading(
        batch,
        step="heating",
        quantity="core-temperature",
        value="-18.50",
        unit="degC",
        occurred_at=START,
        corrects=reading,
        reason="=misread",
        by=batch.by,
        at=at(2),
    )
    return batch


@pytest.fixture
def made_backup(firm, tmp_path):
    path = tmp_path / "b.zip"
    back_up(path, at=NOW)
    return path


def rewritten(path, change):
    """Return a copy of a backup after ``change`` had its members in hand."""
    copy = path.with_name(f"{uuid4().hex}.zip")
    with zipfile.ZipFile(path) as old:
        members = {name: old.read(name) for name in old.namelist()}
    change(members)
    with zipfile.ZipFile(copy, "w") as new:
        for name, data in members.items():
            new.writestr(name, data)
    return copy


def relisted(members, change):
    """Change the manifest and give it a fresh checksum, as a careful forger would."""
    told = json.loads(members[archive.MANIFEST])
    change(told)
    text = json.dumps(told).encode()
    members[archive.MANIFEST] = text
    members[archive.MANIFEST_SUM] = hashlib.sha256(text).hexdigest().encode()


def refused(path, error):
    with pytest.raises(error) as caught:
        restore(path)
    return str(caught.value)


# ------------------------------------------------------------ making one


@in_the_open
def test_backup_holds_every_row_and_file_and_is_noted(firm, tmp_path):
    path = tmp_path / "b.zip"
    manifest = back_up(path, at=NOW)
    counts = {part.table: part.rows for part in manifest.tables}
    assert counts["batches.reading"] == 2
    assert (
        counts["auth.user"] == models.Member.objects.values("user").distinct().count()
    )
    assert not set(counts) & tables.LEFT_OUT
    assert [part.path for part in manifest.files] == [
        models.LoggerFile.objects.get(size=19).content.name
    ]
    last = made.last_backup()
    assert (last.at, last.name, last.rows) == (NOW, "b.zip", manifest.row_count)
    assert [each.name for each in tmp_path.iterdir() if each.is_file()] == ["b.zip"]


@in_the_open
def test_backup_overwrites_nothing_and_leaves_no_draft(made_backup, tmp_path):
    before = made_backup.read_bytes()
    with pytest.raises(CannotKeep, match="already there"):
        back_up(made_backup, at=NOW)
    with pytest.raises(CannotKeep, match="There is no folder"):
        back_up(tmp_path / "nowhere" / "b.zip", at=NOW)
    assert made_backup.read_bytes() == before
    assert [each.name for each in tmp_path.iterdir() if each.is_file()] == ["b.zip"]


@in_the_open
def test_backup_that_does_not_read_back_gets_no_name(firm, tmp_path, monkeypatch):
    def spoiled(path, zipped, progress):
        raise UnsafeBackup("the disk gave back something else")

    monkeypatch.setattr(archive, "check", spoiled)
    with pytest.raises(UnsafeBackup):
        back_up(tmp_path / "b.zip", at=NOW)
    assert not list(tmp_path.glob("*b.zip*"))
    assert made.last_backup() is None


@in_the_open
def test_file_swapped_or_gone_in_the_home_is_told_of(firm, tmp_path):
    stored = models.LoggerFile.objects.get(size=19)
    path = Path(default_storage.path(stored.content.name))
    path.write_bytes(b"something else")
    with pytest.raises(CommandError, match="its checksum differs"):
        call_command("backup", tmp_path / "one.zip")
    path.unlink()
    with pytest.raises(CommandError, match="is gone"):
        call_command("backup", tmp_path / "two.zip")
    assert (tmp_path / "two.zip").exists()


@in_the_open
def test_writer_neither_waits_for_a_backup_nor_gets_into_it(firm, tmp_path):
    wrote = []

    def write_meanwhile(what, done, total):
        if not wrote:
            person = threading.Thread(target=write)
            person.start()
            person.join(timeout=30)

    def write():
        with closing(connection):
            recording.record_remark(
                firm,
                text="Written in the middle of the backup.",
                occurred_at=START,
                by=firm.by,
                at=at(3),
            )
        wrote.append(True)

    manifest = back_up(tmp_path / "b.zip", at=NOW, progress=write_meanwhile)
    counts = {part.table: part.rows for part in manifest.tables}
    assert wrote == [True]
    assert models.Remark.objects.count() == 1
    assert counts["batches.remark"] == 0


@in_the_open
def test_every_kind_of_column_comes_back_as_it_was(firm):
    for model in tables.kept_models():
        columns = tables.columns_of(model)
        for row in model._base_manager.all():
            (again,) = tables.rows_from(model, [tables.row_line(row, columns)])
            for column in columns:
                was, came = (getattr(each, column.attname) for each in (row, again))
                if isinstance(was, memoryview | bytes):
                    was, came = bytes(was), bytes(came)
                assert (type(was), was) == (type(came), came), column


# ------------------------------------------------------------ refusing one


def check_nothing_stored():
    assert models.Producer.objects.count() == 0
    assert not [each for each in Path(settings.MEDIA_ROOT).rglob("*") if each.is_file()]


@pytest.fixture
def elsewhere(made_backup, tmp_path, settings):
    """Return a backup, with an empty home around: the records of it are gone."""
    call_command("flush", interactive=False, verbosity=0)
    settings.BRINEWRIGHT_HOME = tmp_path / "other"
    settings.MEDIA_ROOT = tmp_path / "other" / "files"
    return made_backup


@in_the_open
def test_restored_home_gives_the_same_backup_again(elsewhere, tmp_path):
    was = restore(elsewhere)
    again = back_up(tmp_path / "again.zip", at=NOW)
    assert (again.tables, again.files) == (was.tables, was.files)
    reading = models.Reading.objects.current().get()
    assert str(reading.value) == "-18.50"
    with default_storage.open(again.files[0].path) as file:
        assert file.read() == b"time,P1\n08:00,38.6\n"
    assert made.last_backup().at == NOW
    newer = factories.ReadingFactory(batch=reading.batch)  # keys go on where they were
    assert newer.pk > reading.pk


@in_the_open
def test_truncated_backup_is_refused(elsewhere, tmp_path):
    data = elsewhere.read_bytes()
    for length in (0, 10, len(data) // 2, len(data) - 1):
        short = tmp_path / f"short{length}.zip"
        short.write_bytes(data[:length])
        assert "damaged or was cut short" in refused(short, UnsafeBackup)
    check_nothing_stored()


@in_the_open
def test_backup_with_any_byte_of_a_member_flipped_is_refused(elsewhere, tmp_path):
    data = bytearray(elsewhere.read_bytes())
    with zipfile.ZipFile(elsewhere) as zipped:
        members = [each for each in zipped.infolist() if each.compress_size]
    for member in members:
        head = member.header_offset
        names = sum(struct.unpack("<HH", data[head + 26 : head + 30]))
        middle = head + 30 + names + member.compress_size // 2
        spoiled = data.copy()
        spoiled[middle] ^= 0x10
        path = tmp_path / "spoiled.zip"
        path.write_bytes(spoiled)
        refused(path, UnsafeBackup)
    check_nothing_stored()


@in_the_open
@pytest.mark.parametrize("kind", ["tables", "files"])
def test_swapped_member_is_refused(elsewhere, kind):
    def swap(members):
        name = next(each for each in members if each.startswith(kind))
        members[name] = members[name].replace(b"08:00", b"09:00") + b" "

    assert "is not what was backed up" in refused(
        rewritten(elsewhere, swap), UnsafeBackup
    )
    check_nothing_stored()


@in_the_open
def test_member_taken_out_or_put_in_is_refused(elsewhere):
    for change in (
        lambda members: members.pop("tables/batches.reading.jsonl"),
        lambda members: members.update({"files/extra": b"x"}),
    ):
        message = refused(rewritten(elsewhere, change), UnsafeBackup)
        assert "taken out of it or put into it" in message
    check_nothing_stored()


@in_the_open
def test_changed_list_of_contents_is_refused(elsewhere):
    def change(members):
        members[archive.MANIFEST] = (
            members[archive.MANIFEST].replace(b"b07", b"b08") + b" "
        )

    assert "was changed after" in refused(rewritten(elsewhere, change), UnsafeBackup)
    check_nothing_stored()


@in_the_open
def test_newer_format_and_newer_tables_are_refused(elsewhere):
    later = f"{archive.FORMAT}/{archive.VERSION + 1}"
    newer = rewritten(
        elsewhere, lambda each: relisted(each, lambda told: told.update(format=later))
    )
    assert "newer version" in refused(newer, NewerBackup)
    ahead = rewritten(
        elsewhere,
        lambda each: relisted(
            each, lambda told: told["migrations"].append(["batches", "9999_later"])
        ),
    )
    assert "batches.9999_later" in refused(ahead, NewerBackup)
    check_nothing_stored()


@in_the_open
def test_path_that_leads_out_of_the_home_is_refused(elsewhere):
    for path in ("../outside", "/etc/outside", "a/../../outside", "a\\..\\b", ""):

        def lead_out(told, path=path):
            told["files"][0]["path"] = path

        forged = rewritten(elsewhere, lambda each: relisted(each, lead_out))
        assert "outside the home" in refused(forged, UnsafeBackup)
    check_nothing_stored()


@in_the_open
def test_row_that_fits_nowhere_takes_everything_back(elsewhere):
    name = "tables/batches.reading.jsonl"

    def orphan(members):
        lines = members[name].splitlines(keepends=True)
        columns = json.loads(lines[0])
        row = json.loads(lines[1])
        row[columns.index("batch_id")] = 999_999
        members[name] = b"".join([
            lines[0],
            json.dumps(row).encode() + b"\n",
            *lines[2:],
        ])

        def resum(told):
            part = next(each for each in told["tables"] if each["member"] == name)
            part["sha256"] = hashlib.sha256(members[name]).hexdigest()
            part["size"] = len(members[name])

        relisted(members, resum)

    assert "Nothing was restored" in refused(rewritten(elsewhere, orphan), UnsafeBackup)
    check_nothing_stored()


@in_the_open
def test_no_zip_and_another_zip_are_refused(tmp_path):
    assert "There is no file" in refused(tmp_path / "none.zip", CannotKeep)
    text = tmp_path / "text.zip"
    text.write_text("not a zip")
    assert "cannot be read as a backup" in refused(text, UnsafeBackup)
    other = tmp_path / "other.zip"
    with zipfile.ZipFile(other, "w") as zipped:
        zipped.writestr("hello.txt", "hello")
    assert "no backup of this program" in refused(other, UnsafeBackup)


@in_the_open
def test_home_that_holds_anything_is_left_alone(made_backup):
    readings = models.Reading.objects.count()
    assert "into an empty home only" in refused(made_backup, NotEmpty)
    assert models.Reading.objects.count() == readings


@in_the_open
def test_home_with_a_stray_file_is_left_alone(elsewhere):
    default_storage.save("somebody/picture", ContentFile(b"x"))
    assert "There are already files" in refused(elsewhere, NotEmpty)
    assert models.Producer.objects.count() == 0


# ------------------------------------------------------------ how old the last one is


def test_backup_is_due_when_there_is_none_or_it_is_old(own_home, settings):
    settings.BRINEWRIGHT_BACKUP_DAYS = 7
    assert made.is_backup_due(NOW)
    own_home.mkdir()
    line = {"made_at": NOW.isoformat(), "name": "b.zip", "rows": 1, "files": 0}
    (own_home / made.NAME).write_text(json.dumps(line) + '\n{"made_at": "20')
    assert not made.is_backup_due(NOW + timedelta(days=7))
    assert made.is_backup_due(NOW + timedelta(days=7, seconds=1))


# ------------------------------------------------------------ real processes

SMALL_FIRM = """
import django
django.setup()
from batches.recording.trail import take_over
from tests import factories
batch = factories.BatchFactory()
factories.TraceFactory(batch=batch)
factories.ReadingFactory(batch=batch, value="-18.50", unit="degC")
take_over(at=factories.at(1))
"""

WRITER = """
import django, itertools, sys
django.setup()
from django.db import transaction
from django.utils import timezone
from batches.models import Batch
from batches import recording
batch = Batch.objects.order_by("pk").first()
for number in itertools.count():
    at = timezone.now()
    said = {"occurred_at": at, "by": batch.by, "at": at}
    with transaction.atomic():  # both or none: a consistent backup never tells them apart
        recording.record_remark(batch, text=f"pair {number}", **said)
        recording.record_statement(batch, what=f"pair-{number}", complies=True, **said)
    print(number, flush=True)
"""


@pytest.fixture
def installation(tmp_path):
    """Return a maker of empty installations, each as the environment of its processes.

    They stand on the database of this run, or on SQLite where that is asked for.
    """
    databases = []

    def new(name, *, on_sqlite=False):
        env = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
        env["BRINEWRIGHT_HOME"] = str(tmp_path / name)
        env["DJANGO_SETTINGS_MODULE"] = "safety.site.settings"
        if connection.vendor == "postgresql" and not on_sqlite:
            databases.append(f"{name}_{uuid4().hex}")
            administer(f'CREATE DATABASE "{databases[-1]}"')
            env["DATABASE_URL"] = url_of(databases[-1])
        return env

    yield new
    for name in databases:
        administer(f'DROP DATABASE "{name}" WITH (FORCE)')


def url_of(database):
    told = connection.settings_dict
    password = f":{told['PASSWORD']}" if told["PASSWORD"] else ""
    host = f"{told['HOST']}:{told['PORT']}"
    return f"postgresql://{told['USER']}{password}@{host}/{database}"


def administer(statement):
    with psycopg.connect(url_of("postgres"), autocommit=True) as server:
        server.execute(statement)


def manage(env, *words):
    done = subprocess.run(
        [sys.executable, "manage.py", *map(str, words)],
        cwd=ROOT,
        env=env,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    return done.returncode, done.stdout + done.stderr


def small_firm(env):
    """Prepare an installation with one batch in it; its logger's file is not there."""
    assert manage(env, "start", "--prepare")[0] == 0
    done = [sys.executable, "-c", SMALL_FIRM]
    subprocess.run(done, cwd=ROOT, env=env, check=True, timeout=120)
    return env


def parts_of(path):
    with archive.opened(path) as zipped:
        manifest = archive.check(path, zipped)
    return manifest.tables, manifest.files


@pytest.mark.slow
def test_season_survives_the_way_into_another_installation(installation, tmp_path):
    first, second = installation("first"), installation("second")
    assert manage(first, "start", "--demo", "--prepare")[0] == 0
    code, said = manage(first, "backup", tmp_path / "one.zip")
    assert (code, "read back and found whole" in said) == (0, True), said
    code, said = manage(second, "restore", tmp_path / "one.zip")
    assert (code, "Restored" in said) == (0, True), said
    assert manage(second, "verify_trail")[0] == 0
    assert manage(second, "backup", tmp_path / "two.zip")[0] == 0
    assert parts_of(tmp_path / "two.zip") == parts_of(tmp_path / "one.zip")
    code, said = manage(second, "restore", tmp_path / "one.zip")
    assert (code, "into an empty home only" in said) == (1, True), said


WRITE_ON = """
import django
django.setup()
from django.utils import timezone
from batches.models import Batch
from batches import recording
at = timezone.now()
for batch in Batch.objects.order_by("pk"):
    said = {"occurred_at": at, "by": batch.by, "at": at}
    recording.record_remark(batch, text="Written after the move.", **said)
"""


@pytest.mark.slow
def test_season_moves_to_another_kind_of_database_and_back(installation, tmp_path):
    """From SQLite to the database of this run and back: PostgreSQL in one of the runs."""
    first = installation("from", on_sqlite=True)
    second = installation("over")
    third = installation("back", on_sqlite=True)
    assert manage(first, "start", "--demo", "--prepare")[0] == 0
    assert manage(first, "backup", tmp_path / "one.zip")[0] == 0
    code, said = manage(second, "restore", tmp_path / "one.zip")
    assert (code, "Restored" in said) == (0, True), said
    code, said = manage(second, "verify_trail")
    assert (code, "as it was written" in said) == (0, True), said
    assert manage(second, "check", "--fail-level", "WARNING")[0] == 0  # every fence
    assert manage(second, "backup", tmp_path / "two.zip")[0] == 0
    assert parts_of(tmp_path / "two.zip") == parts_of(tmp_path / "one.zip")
    done = [sys.executable, "-c", WRITE_ON]  # keys go on where they had ended
    subprocess.run(done, cwd=ROOT, env=second, check=True, timeout=120)
    assert manage(second, "verify_trail")[0] == 0
    assert manage(second, "backup", tmp_path / "three.zip")[0] == 0
    code, said = manage(third, "restore", tmp_path / "three.zip")
    assert (code, "Restored" in said) == (0, True), said
    assert manage(third, "verify_trail")[0] == 0
    assert manage(third, "backup", tmp_path / "four.zip")[0] == 0
    assert parts_of(tmp_path / "four.zip") == parts_of(tmp_path / "three.zip")
    assert counted_rows(tmp_path / "four.zip") > counted_rows(tmp_path / "one.zip")


def counted_rows(path):
    tables_there, _ = parts_of(path)
    return sum(part.rows for part in tables_there)


OLD = ("batches", "0002_add_plans")


@pytest.mark.slow
@pytest.mark.django_db
def test_backup_of_an_older_version_is_led_forward(installation, tmp_path):
    first, second = small_firm(installation("young")), installation("older")
    now, old = tmp_path / "now.zip", tmp_path / "old.zip"
    assert manage(first, "backup", now)[0] == 1  # a file is gone, and it says so
    as_the_older_version_made_it(now, old)
    code, said = manage(second, "restore", old)
    assert (code, "Restored" in said) == (0, True), said
    again = tmp_path / "again.zip"
    assert manage(second, "backup", again)[0] == 1
    (tables_then, files_then), (tables_now, files_now) = parts_of(old), parts_of(again)
    assert len(tables_then) < len(tables_now)
    assert files_then == files_now
    same = {part.table for part in tables_then}
    again = [(part.table, part.rows) for part in tables_now if part.table in same]
    assert again == [(part.table, part.rows) for part in tables_then]
    new = {part.table: part.rows for part in tables_now if part.table not in same}
    assert new.pop("batches.trailevent") > 0  # the rows of before were taken over
    assert set(new.values()) == {0}


def as_the_older_version_made_it(now, old):
    """Leave out what was added since: tables, columns, and the migrations of both."""
    state = MigrationExecutor(connection).loader.project_state([OLD]).apps
    known = {
        tables.label_of(model): [each.attname for each in tables.columns_of(model)]
        for model in state.get_models(include_auto_created=True)
    }
    with zipfile.ZipFile(now) as zipped:
        members = {name: zipped.read(name) for name in zipped.namelist()}

    def older(told):
        kept = []
        for part in told["tables"]:
            data = members.pop(part["member"])
            columns = known.get(part["table"])
            if columns is None and not part["table"].startswith("batches."):
                columns = json.loads(data.splitlines()[0])
            if columns is None:
                continue
            data = without_later_columns(data, columns)
            members[part["member"]] = data
            digest = hashlib.sha256(data).hexdigest()
            kept.append(part | {"size": len(data), "sha256": digest})
        assert len(kept) < len(told["tables"])
        told["tables"] = kept
        told["migrations"] = [
            [app, name]
            for app, name in told["migrations"]
            if app != "batches" or name <= OLD[1]
        ]

    relisted(members, older)
    with zipfile.ZipFile(old, "w") as zipped:
        for name, data in members.items():
            zipped.writestr(name, data)


def without_later_columns(data, columns):
    """Return a table with the columns of the older version only."""
    header, *lines = (json.loads(line) for line in data.splitlines())
    places = [header.index(name) for name in columns]
    rows = [columns, *([row[place] for place in places] for row in lines)]
    return b"".join(json.dumps(row).encode() + b"\n" for row in rows)


PAST_THE_TRAIL = """
import django
django.setup()
from tests import factories
factories.ReadingFactory()
"""


@pytest.mark.slow
def test_restored_record_that_is_not_as_it_was_written_is_said_so(
    installation, tmp_path
):
    first, second = installation("slipped"), installation("told")
    assert manage(first, "start", "--prepare")[0] == 0
    slip_in = [sys.executable, "-c", PAST_THE_TRAIL]
    subprocess.run(slip_in, cwd=ROOT, env=first, check=True, timeout=120)
    assert manage(first, "backup", tmp_path / "b.zip")[0] == 0
    code, said = manage(second, "restore", tmp_path / "b.zip")
    assert code == 1
    assert "they are not as they were written" in said


@pytest.mark.slow
def test_backups_beside_a_busy_process_are_each_of_one_instant(installation, tmp_path):
    env = small_firm(installation("busy"))
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER],
        cwd=ROOT,
        env=env,
        stdout=subprocess.PIPE,
        text=True,
    )
    pairs = []
    try:
        assert writer.stdout.readline().strip() == "0"
        for number in range(3):
            path = tmp_path / f"{number}.zip"
            manage(env, "backup", path)
            pairs.append(counted(path))
    finally:
        writer.kill()
        writer.communicate()
    assert [remarks for remarks, _ in pairs] == [told for _, told in pairs]
    assert pairs[0][0] < pairs[1][0] < pairs[2][0]  # it went on writing all the while


def counted(path):
    """Return how many remarks and how many statements of the pairs a backup holds."""
    with archive.opened(path) as zipped:
        remarks = zipped.read("tables/batches.remark.jsonl").count(b'"pair ')
        statements = zipped.read("tables/batches.statement.jsonl").count(b'"pair-')
    return remarks, statements


def test_without_records_the_commands_say_what_to_do(tmp_path):
    env = {key: value for key, value in os.environ.items() if key != "DATABASE_URL"}
    env["BRINEWRIGHT_HOME"] = str(tmp_path / "none")
    code, said = manage(env, "backup", tmp_path / "b.zip")
    assert (code, "There are no records" in said) == (1, True), said
    assert not (tmp_path / "b.zip").exists()
