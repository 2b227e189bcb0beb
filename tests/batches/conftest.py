"""What the tests of the records share."""

import pytest


@pytest.fixture(autouse=True)
def files_of_this_test(settings, tmp_path):
    """Keep the files that a test stores out of everybody's home."""
    settings.MEDIA_ROOT = tmp_path / "files"
