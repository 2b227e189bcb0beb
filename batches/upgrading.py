"""What happens to the records after their tables were brought up to date."""

from collections.abc import Sequence
from typing import Any

from django.db import connections
from django.utils import timezone

from batches.fences import raise_fences
from batches.recording.trail import take_over

TRAIL_BEGINS = "add_trail"  # how the migration ends that makes the trail


def after_migrating(
    *, using: str, plan: Sequence[tuple[Any, bool]] = (), **kwargs: Any
) -> None:
    """Raise the triggers that a changed table lost, and begin the trail of old rows.

    Only where something was migrated: triggers that vanish by themselves are for the
    start-up check to report, not to be mended in silence.
    """
    applied = {
        migration.name
        for migration, is_backwards in plan
        if migration.app_label == "batches" and not is_backwards
    }
    if applied:
        raise_fences(connections[using])
    if any(name.endswith(TRAIL_BEGINS) for name in applied):
        take_over(at=timezone.now())
