"""The start-up checks of the records."""

from batches import checks
from safety.errors import LimitFileError


def test_limits_as_released_are_accepted():
    assert checks.check_limits() == []


def test_wrong_limit_file_stops_the_start_and_is_named(monkeypatch):
    def broken():
        raise LimitFileError("own.toml", "limit 'x'", "lacks 'section'.", "Cite it.")

    monkeypatch.setattr(checks, "catalogue", broken)
    (found,) = checks.check_limits()
    assert (found.id, found.level >= 40) == ("batches.E001", True)
    assert "own.toml, limit 'x': lacks 'section'. Cite it." in found.msg
    assert "own.toml" in found.hint
