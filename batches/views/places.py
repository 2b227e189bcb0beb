"""The clock on the wall where the work is done."""

from zoneinfo import ZoneInfo

from batches.lookups import premises_of
from batches.models import Premises, Producer


def first_premises(producer: Producer) -> Premises:
    """Return the premises that were named first."""
    return premises_of(producer)[0]


def zone_of(producer: Producer) -> ZoneInfo:
    """Return the time zone of the premises that were named first."""
    return first_premises(producer).zone
