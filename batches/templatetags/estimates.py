"""Writes the figures of an estimate: no more digits than its range lets mean something."""

from django.template import Library

from batches.workbench.measures import written
from batches.workbench.outcome import figure, sentence
from safety.science.estimate import Estimate

register = Library()

_WHOLE = 100


@register.filter
def unit_words(unit: str) -> str:
    """Return a unit as people write it."""
    return written(unit)


@register.filter
def low_of(estimate: Estimate) -> str:
    """Return the low end."""
    return figure(estimate, estimate.low)


@register.filter
def likely_of(estimate: Estimate) -> str:
    """Return the likely figure."""
    return figure(estimate, estimate.likely)


@register.filter
def high_of(estimate: Estimate) -> str:
    """Return the high end."""
    return figure(estimate, estimate.high)


@register.filter
def in_one_line(estimate: Estimate) -> str:
    """Return the estimate as one line."""
    return sentence(estimate)


@register.filter
def share_words(share: float) -> str:
    """Return a share as a percentage."""
    return f"{share * _WHOLE:.4g} %"
