"""Which backups were made of this installation: a small file in the home, one line each."""

import json
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from batches.keeping.archive import Manifest

NAME = "backups.jsonl"


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupMade:
    """One backup: when, under which name, how large."""

    made_at: str
    name: str
    rows: int
    files: int

    @property
    def at(self) -> datetime:
        """Return the instant that the backup holds."""
        return datetime.fromisoformat(self.made_at)


def note_backup(path: Path, manifest: Manifest) -> None:
    """Add a line for a backup that was made, or from which this home was restored."""
    made = BackupMade(
        made_at=manifest.made_at,
        name=path.name,
        rows=manifest.row_count,
        files=len(manifest.files),
    )
    noted = _file()
    noted.parent.mkdir(parents=True, exist_ok=True)
    with noted.open("a", encoding="utf-8") as out:
        out.write(json.dumps(asdict(made)) + "\n")


def last_backup() -> BackupMade | None:
    """Return the newest backup; a line that breaks off counts for nothing."""
    try:
        lines = _file().read_text("utf-8").splitlines()
    except FileNotFoundError:
        return None
    found = [made for line in lines if (made := _read(line)) is not None]
    return max(found, key=lambda made: made.at, default=None)


def is_backup_due(now: datetime) -> bool:
    """Say whether the last backup is too old, or there is none."""
    last = last_backup()
    most = timedelta(days=settings.BRINEWRIGHT_BACKUP_DAYS)
    return last is None or now - last.at > most


def _file() -> Path:
    return Path(settings.BRINEWRIGHT_HOME) / NAME


def _read(line: str) -> BackupMade | None:
    try:
        made = BackupMade(**json.loads(line))
        return made if made.at.tzinfo else None
    except (ValueError, TypeError):
        return None
