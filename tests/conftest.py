"""What all tests share: a home of their own, a database file, how hard to try."""

import os

import hypothesis
import pytest
from django.db import connection
from django.db.backends.base.operations import BaseDatabaseOperations
from django.test import override_settings

from tests.lowered import flushing

hypothesis.settings.register_profile("dev", deadline=None, max_examples=50)
hypothesis.settings.register_profile(
    "ci",
    deadline=None,  # a busy machine is not a wrong answer
    derandomize=False,  # every run tries other cases
    max_examples=200,
    print_blob=True,
)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "dev")


@pytest.fixture(scope="session", autouse=True)
def home_of_the_tests(tmp_path_factory):
    """Keep what tests write out of everybody's home."""
    home = tmp_path_factory.mktemp("home")
    with override_settings(
        BRINEWRIGHT_HOME=home,
        MEDIA_ROOT=home / "files",
        SECRET_KEY="signs nothing that matters",
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
        WHITENOISE_AUTOREFRESH=True,  # else each client reads all static files
    ):
        yield home


@pytest.fixture(scope="session")
def django_db_modify_db_settings(
    django_db_modify_db_settings_parallel_suffix, tmp_path_factory
):
    """Use a file as a user does: threads of a live server share no connection."""
    if connection.vendor == "sqlite":
        name = tmp_path_factory.mktemp("database") / "test.sqlite3"
        connection.settings_dict["TEST"]["NAME"] = str(name)


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """End the sessions that the tests' own web server forgot, or their database stays.

    Where a browser hangs up in the middle of a page, that server never closes the
    request, nor what it opened in the database.
    """
    yield
    if connection.vendor == "postgresql":
        with django_db_blocker.unblock(), connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )


@pytest.fixture(scope="session", autouse=True)
def tables_can_be_emptied():
    """Let tests that commit be cleared away; only here, nowhere in the program."""
    with pytest.MonkeyPatch.context() as patch:
        whole = BaseDatabaseOperations.execute_sql_flush
        patch.setattr(BaseDatabaseOperations, "execute_sql_flush", flushing(whole))
        yield
