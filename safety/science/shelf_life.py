"""How long smoked seafood keeps Listeria monocytogenes below a growth: an estimate.

Supporting material at most. Shelf life is the shortest of what the rules allow and what a
study of the product shows; this shortens it, and never lengthens it.
"""

from safety.science.estimate import Estimate
from safety.science.listeria import days_until, growth_log10, rates

CAVEATS = (
    (
        "Estimate from published data for similar foods. It can be wrong by a factor of "
        "two or more in either direction. It does not replace the limits, a process "
        "authority, or a shelf-life study."
    ),
    (
        "No lag, salt ignored; one study in twenty grew faster than the short end, and "
        "one 3.7 times as fast as the middle. Only two of the rows are of hot-smoked fish."
    ),
)


def listeria_days(log10: float, temperature_c: float) -> Estimate:
    """Return the days in which Listeria may grow by so many powers of ten.

    Parameters
    ----------
    log10 : float
        Growth, powers of ten, above 0 to 12.
    temperature_c : float
        Temperature of storage throughout, °C, 0 to 30.

    Returns
    -------
    Estimate
        Days: at the 95th percentile of the published rates, at their mean, and at the
        slowest. It errs to short where salt or smoke slow growth, and to long for the
        one product in twenty in which it grows faster.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> days = listeria_days(2, 4)
    >>> round(days.low, 1), round(days.likely, 1)
    (11.4, 19.0)
    """
    known = rates()
    low, likely, high = (
        float(days_until(log10, temperature_c, at_reference=rate))
        for rate in (known.high, known.mean, known.least)
    )
    return Estimate(
        quantity="days until Listeria may have grown so much",
        unit="d",
        low=low,
        likely=likely,
        high=high,
        sources=(known.source,),
        caveats=CAVEATS,
    )


def listeria_growth(days: float, temperature_c: float) -> Estimate:
    """Return by how many powers of ten Listeria may grow in a time.

    Parameters
    ----------
    days : float
        0 or more.
    temperature_c : float
        Temperature of storage throughout, °C, 0 to 30.

    Returns
    -------
    Estimate
        log10: at the slowest of the published rates, at their mean, at their 95th
        percentile. Errs as `listeria_days` does.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> round(listeria_growth(10, 5).likely, 2)
    1.5
    """
    known = rates()
    stretch = [(days, temperature_c, temperature_c)]
    low, likely, high = (
        growth_log10(stretch, at_reference=rate)
        for rate in (known.least, known.mean, known.high)
    )
    return Estimate(
        quantity="growth of Listeria",
        unit="powers of ten",
        low=low,
        likely=likely,
        high=high,
        sources=(known.source,),
        caveats=CAVEATS,
    )
