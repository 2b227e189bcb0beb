"""The settings are safe when nothing is set, and name the variable that is wrong."""

import json
import os
import subprocess
import sys
import threading

import pytest
from django.db import connection

from safety.site.secret import secret_key
from tests.house.tree import ROOT

SHOW = """
import json
from safety.site import settings as s
names = {names!r}
print(json.dumps({{name: getattr(s, name) for name in names}}, default=str))
"""


def shown(*names, **environment):
    """Return settings as a fresh process reads them from these variables."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    done = subprocess.run(
        [sys.executable, "-c", SHOW.format(names=names)],
        cwd=ROOT,
        env={**kept, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        return done.stderr.strip().splitlines()[-1]
    return json.loads(done.stdout)


def test_nothing_set_is_safe():
    read = shown("DEBUG", "ALLOWED_HOSTS", "BRINEWRIGHT_HOME", "DATABASES")
    assert read["DEBUG"] is False
    assert read["ALLOWED_HOSTS"] == ["localhost", "127.0.0.1", "[::1]"]
    assert read["BRINEWRIGHT_HOME"] == str(ROOT / "var")
    assert read["DATABASES"]["default"]["NAME"] == str(
        ROOT / "var" / "brinewright.sqlite3"
    )


def test_home_carries_database_and_files(tmp_path):
    read = shown("DATABASES", "MEDIA_ROOT", BRINEWRIGHT_HOME=str(tmp_path))
    assert read["DATABASES"]["default"]["NAME"].startswith(str(tmp_path))
    assert read["MEDIA_ROOT"].startswith(str(tmp_path))


def test_database_url_replaces_sqlite():
    read = shown("DATABASES", DATABASE_URL="postgres://keeper:pw@localhost/records")
    assert read["DATABASES"]["default"]["ENGINE"] == "django.db.backends.postgresql"
    assert read["DATABASES"]["default"]["NAME"] == "records"


def test_hosts_and_https_from_the_environment():
    read = shown(
        "ALLOWED_HOSTS",
        "SESSION_COOKIE_SECURE",
        "CSRF_COOKIE_SECURE",
        BRINEWRIGHT_HOSTS="smoke.example, cold.example",
        BRINEWRIGHT_HTTPS="1",
    )
    assert read["ALLOWED_HOSTS"][-2:] == ["smoke.example", "cold.example"]
    assert read["SESSION_COOKIE_SECURE"] is True
    assert read["CSRF_COOKIE_SECURE"] is True


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("BRINEWRIGHT_DEBUG", "yes"),
        ("BRINEWRIGHT_HTTPS", "true"),
        ("BRINEWRIGHT_MAX_UPLOAD_MB", "0"),
        ("BRINEWRIGHT_MAX_UPLOAD_MB", "big"),
        ("BRINEWRIGHT_MAX_UPLOAD_MB", "-5"),
    ],
)
def test_wrong_value_names_its_variable(name, value):
    said = shown("DEBUG", **{name: value})
    assert f"{name}={value!r}" in said


def test_reading_the_settings_writes_nothing(tmp_path):
    home = tmp_path / "home"
    shown("DEBUG", BRINEWRIGHT_HOME=str(home))
    assert not home.exists()


def test_secret_key_is_made_once_and_only_its_owner_reads_it(tmp_path):
    home = tmp_path / "home"
    key = secret_key(home)
    secret_key.cache_clear()
    assert secret_key(home) == key
    assert len(key) >= 50
    assert (home / "secret-key").stat().st_mode & 0o777 == 0o600
    assert [path.name for path in home.iterdir()] == ["secret-key"]


def test_secret_keys_made_at_once_are_one(tmp_path):
    keys = []
    start = threading.Barrier(8)

    def ask():
        start.wait()
        keys.append(secret_key.__wrapped__(tmp_path))

    askers = [threading.Thread(target=ask) for _ in range(8)]
    for asker in askers:
        asker.start()
    for asker in askers:
        asker.join()
    assert len(set(keys)) == 1
    assert keys[0]


def test_two_homes_have_two_keys(tmp_path):
    assert secret_key(tmp_path / "a") != secret_key(tmp_path / "b")


@pytest.mark.django_db
def test_sqlite_guards_what_is_recorded():
    if connection.vendor != "sqlite":
        assert connection.vendor == "postgresql"
        return
    read = {}
    with connection.cursor() as cursor:
        for name in ("foreign_keys", "journal_mode", "recursive_triggers"):
            cursor.execute(f"PRAGMA {name}")
            read[name] = cursor.fetchone()[0]
    assert read == {"foreign_keys": 1, "journal_mode": "wal", "recursive_triggers": 1}
    assert connection.settings_dict["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
