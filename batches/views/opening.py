"""After an entry: what it made missed is opened at once, what a finished batch lacks too."""

from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest

from batches import recording
from batches.errors import RecordError
from batches.models import Batch, StepMark


def open_after(
    request: HttpRequest, batch: Batch, row: object, *, at: datetime
) -> None:
    """Open the deviations that an entry calls for; the entry stands in any case.

    Pages show what is not answered whether or not this was done.
    """
    is_end = isinstance(row, StepMark) and row.edge == StepMark.Edge.END
    try:
        opened = recording.open_due(
            batch, by=request.member, at=at, is_missed_only=not is_end
        )
    except RecordError:
        return
    if opened:
        said = ", ".join(str(each) for each in opened)
        messages.warning(
            request, f"Opened: {said}. Hold the batch until it is decided."
        )
