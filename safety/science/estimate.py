"""What the sciences answer with: an estimate, its range, and what it rests on."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """One estimated quantity with its range; it never meets a limit.

    Parameters
    ----------
    quantity : str
        What is estimated, in words.
    unit : str
        As in ``safety.units``; "1" for a plain number.
    low, likely, high : float
        The range and the likeliest value, in that unit, in rising order.
    coverage : float, optional
        Share of cases that the range is meant to hold; None where nothing is claimed.
    sources, caveats : tuple of str
        Citations, and what must be read with the figures.
    is_thin : bool
        Whether too little stands behind it for a claim: then show the range, not a value.
    """

    quantity: str
    unit: str
    low: float
    likely: float
    high: float
    coverage: float | None = None
    sources: tuple[str, ...] = ()
    caveats: tuple[str, ...] = ()
    is_thin: bool = False
